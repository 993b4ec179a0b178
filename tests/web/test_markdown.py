"""A clue's Markdown: what it becomes, and what never gets through."""

from html.parser import HTMLParser

import pytest

from schedule.markdown import InlineImage, images_named_in, render_markdown


@pytest.mark.parametrize(
    ("text", "html"),
    [
        # Examples 62, 65 and 350 of the CommonMark 0.31 specification, headings one level down.
        ("# foo\n## foo", "<h2>foo</h2>\n<h3>foo</h3>\n"),
        ("\\## foo", "<p>## foo</p>\n"),
        ("*foo bar*", "<p><em>foo bar</em></p>\n"),
        ("### foo\n#### bar", "<h2>foo</h2>\n<h3>bar</h3>\n"),
        ("# foo\n###### bar", "<h2>foo</h2>\n<h6>bar</h6>\n"),
        ("Row 1: k2\nRow 2: p2", "<p>Row 1: k2<br>\nRow 2: p2</p>\n"),
    ],
)
def test_text_becomes_html(text, html):
    assert render_markdown(text) == html


def test_a_table_scrolls_by_itself_and_aligns_by_class():
    html = render_markdown("| Row | Stitches |\n|---|--:|\n| 1 | 12 |")
    assert '<div class="table-scroll" role="region" aria-label="Table" tabindex="0">' in html
    assert '<td class="align-right">12</td>' in html
    assert "style=" not in html


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>",
        '<img src="https://tracker.example/1.png">',
        "![](https://tracker.example/1.png)",
        "![a][b]\n\n[b]: https://tracker.example/1.png",
        "[x](javascript:alert(1))",
        "[x](data:text/html,<script>alert(1)</script>)",
        '![x](y.png"onerror="alert(1))',
        "<style>body{display:none}</style>",
        '<a href="x" onclick="alert(1)">x</a>',
        "<iframe src=https://tracker.example></iframe>",
        "![](//tracker.example/1.png)",
    ],
)
def test_nothing_runs_and_nothing_is_fetched_from_elsewhere(text):
    reader = TagReader()
    reader.feed(render_markdown(text))
    assert {tag for tag, _ in reader.tags} <= {"p", "a"}
    for _, attributes in reader.tags:
        assert attributes.keys() <= {"href", "rel", "title"}
        assert not (attributes.get("href") or "").startswith(("javascript:", "data:"))


class TagReader(HTMLParser):
    """The tags that a browser would find, with their attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))


def test_a_picture_elsewhere_is_a_link():
    html = render_markdown("![the wall](https://a.example/wall.png)")
    assert (
        '<a href="https://a.example/wall.png" rel="noopener noreferrer nofollow">the wall</a>'
        in html
    )


def test_an_attached_picture_is_shown_by_its_name():
    images = {"my wall.webp": InlineImage("/k/harbour/clues/1/files/x/", "The wall", 40, 30)}
    html = render_markdown("![](<my wall.webp>)", images)
    assert (
        '<img src="/k/harbour/clues/1/files/x/" alt="The wall" width="40" height="30" '
        'loading="lazy">' in html
    )
    assert images_named_in("text ![](<my wall.webp>)") == {"my wall.webp"}
