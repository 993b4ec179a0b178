"""From a clue's Markdown to HTML that is safe to show: no raw HTML, no request to another site.

CommonMark 0.31 (spec.commonmark.org) with the usual pipe tables. Two things differ, by our
choice: a line break stays one, since a row of knitting is a line; and the text's highest heading
is level 2, whatever its author wrote, right below the clue's own title, or level 3 in a section.
A picture is shown when it names an image attached to the clue, and is a link otherwise. The first
time an abbreviation of the glossary occurs, it carries its meaning.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any
from urllib.parse import unquote

import nh3
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext
from markdown_it import MarkdownIt
from markdown_it.renderer import RendererHTML
from markdown_it.token import Token
from markdown_it.utils import EnvType, OptionsDict

from schedule.glossary import pattern_of

TAGS = frozenset(
    {
        *("p", "br", "hr", "h2", "h3", "h4", "h5", "h6", "blockquote", "ul", "ol", "li"),
        *("em", "strong", "s", "code", "pre", "a", "img", "abbr"),
        *("div", "table", "thead", "tbody", "tr", "th", "td"),
    }
)
ATTRIBUTES: dict[str, frozenset[str]] = {
    "a": frozenset({"href", "title"}),
    "abbr": frozenset({"title"}),
    "img": frozenset({"src", "alt", "width", "height", "loading"}),
    "ol": frozenset({"start"}),
    "div": frozenset({"class", "role", "aria-label", "tabindex"}),
    "th": frozenset({"class"}),
    "td": frozenset({"class"}),
}


@dataclass(frozen=True)
class InlineImage:
    """An attached image that the text may show by its file name."""

    url: str
    alt: str
    width: int | None
    height: int | None


def render_markdown(
    text: str,
    images: Mapping[str, InlineImage] | None = None,
    *,
    meanings: Mapping[str, str] | None = None,
    top_level: int = 2,
) -> SafeString:
    """Return sanitised HTML; `images` maps the names of attached images to where they are.

    `meanings` maps abbreviations to their words; headings begin at `top_level`.
    """
    parser = _parser()
    tokens = parser.parse(text)
    highest = min(map(_level, filter(_is_heading, tokens)), default=1)
    env = {
        "images": images or {},
        "deeper": top_level - highest,
        "meanings": meanings or {},
        "explained": set(),
    }
    html = parser.renderer.render(tokens, parser.options, env)
    clean = nh3.clean(
        html,
        tags=TAGS,
        attributes=ATTRIBUTES,
        url_schemes={"http", "https", "mailto"},
        link_rel="noopener noreferrer nofollow",
    )
    return mark_safe(clean)


def images_named_in(text: str) -> set[str]:
    """Return what the pictures in the text name: attached files, or addresses elsewhere."""
    return {
        unquote(str(child.attrGet("src")))
        for token in _parser().parse(text)
        for child in token.children or ()
        if child.type == "image"
    }


def links_in(text: str) -> Iterator[tuple[str, bool]]:
    """Yield every address that the text links or shows, and whether it is a picture's."""
    for token in _parser().parse(text):
        for child in token.children or ():
            if child.type == "link_open":
                yield unquote(str(child.attrGet("href"))), False
            elif child.type == "image":
                yield unquote(str(child.attrGet("src"))), True


@cache
def _parser() -> MarkdownIt:
    parser = MarkdownIt("commonmark", {"html": False, "breaks": True})
    parser.enable(["table", "strikethrough"])
    for rule, render in RULES.items():
        parser.add_render_rule(rule, render)
    return parser


def _is_heading(token: Token) -> bool:
    return token.type == "heading_open"


def _level(heading: Token) -> int:
    return int(heading.tag.removeprefix("h"))


def _heading(
    self: RendererHTML, tokens: Sequence[Token], index: int, options: OptionsDict, env: EnvType
) -> str:
    level = min(_level(tokens[index]) + env["deeper"], 6)
    return f"<h{level}>" if tokens[index].nesting > 0 else f"</h{level}>\n"


def _table_open(
    self: RendererHTML, tokens: Sequence[Token], index: int, options: OptionsDict, env: EnvType
) -> str:
    # A wide table scrolls by itself, and by keyboard, rather than the page on a phone.
    label = escape(gettext("Table"))
    region = f'<div class="table-scroll" role="region" aria-label="{label}" tabindex="0">'
    return f"{region}\n<table>\n"


def _table_close(
    self: RendererHTML, tokens: Sequence[Token], index: int, options: OptionsDict, env: EnvType
) -> str:
    return "</table>\n</div>\n"


def _cell(
    self: RendererHTML, tokens: Sequence[Token], index: int, options: OptionsDict, env: EnvType
) -> str:
    """A column's alignment as a class: the page's policy allows no inline style."""
    token = tokens[index]
    side = str(token.attrGet("style") or "").removeprefix("text-align:")
    return f'<{token.tag} class="align-{side}">' if side else f"<{token.tag}>"


def _image(
    self: RendererHTML, tokens: Sequence[Token], index: int, options: OptionsDict, env: EnvType
) -> str:
    token = tokens[index]
    alt = self.renderInlineAsText(token.children, options, env) if token.children else ""
    source = str(token.attrGet("src"))
    image = env["images"].get(unquote(source))
    if image is None:
        return f'<a href="{escape(source)}">{escape(alt or gettext("picture"))}</a>'
    return image_tag(image, alt)


def image_tag(image: InlineImage, alt: str = "") -> str:
    """Return the picture; its size is given so that the text does not jump when it arrives."""
    size = f' width="{image.width}" height="{image.height}"' if image.width else ""
    return f'<img src="{escape(image.url)}" alt="{escape(alt or image.alt)}"{size} loading="lazy">'


def _text(
    self: RendererHTML, tokens: Sequence[Token], index: int, options: OptionsDict, env: EnvType
) -> str:
    text, meanings = tokens[index].content, env["meanings"]
    if not meanings:
        return escape(text)
    pieces = pattern_of(tuple(meanings)).split(text)
    return "".join(
        _abbreviation(piece, meanings[piece], env["explained"]) if place % 2 else escape(piece)
        for place, piece in enumerate(pieces)
    )


def _abbreviation(short: str, meaning: str, explained: set[str]) -> str:
    if short in explained:
        return escape(short)
    explained.add(short)
    return f'<abbr title="{escape(meaning)}">{escape(short)}</abbr>'


RULES: dict[str, Any] = {
    "text": _text,
    "heading_open": _heading,
    "heading_close": _heading,
    "table_open": _table_open,
    "table_close": _table_close,
    "th_open": _cell,
    "td_open": _cell,
    "image": _image,
}
