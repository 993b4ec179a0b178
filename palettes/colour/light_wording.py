"""The words of what is wrong with the light of a photo, or with what is marked in it."""

from collections.abc import Mapping
from typing import Final

from palettes.colour.phrases import Phrase
from palettes.colour.phrases import gettext_noop as _

REFUSALS: Final[Mapping[str, Phrase]] = {
    "outside-photo": _(
        "The box from ({left}, {top}) to ({right}, {bottom}) is not inside the photo; its corners "
        "must lie between 0 and 1, left of right."
    ),
    "few-pixels": _(
        "The marked box holds only {columns} by {rows} pixels of the photo; make it larger, or use "
        "a sharper photo."
    ),
    "paper-burnt-out": _(
        # xgettext:no-python-format
        "{share} % of the white paper is burnt out to the camera's limit; move the box off the "
        "shine, or take the photo again with less light."
    ),
    "card-burnt-out": _(
        # xgettext:no-python-format
        "{share} % of the grey card is burnt out to the camera's limit; move the box off the "
        "shine, or take the photo again with less light."
    ),
    "yarn-burnt-out": _(
        # xgettext:no-python-format
        "{share} % of yarn {number} is burnt out, or too vivid in this light for a photo to hold; "
        "move the box off the shine, or take the photo again with less light."
    ),
    "paper-dark": _(
        # xgettext:no-python-format
        "The white paper comes out at {share} % of full light, too dark to judge colour by; use "
        "daylight near a window and take the photo again."
    ),
    "card-dark": _(
        # xgettext:no-python-format
        "The grey card comes out at {share} % of full light, too dark to judge colour by; use "
        "daylight near a window and take the photo again."
    ),
    "photo-dark": _(
        # xgettext:no-python-format
        "The lightest part of the photo has {share} % of full light, too dark to judge colour by; "
        "use daylight near a window and take the photo again."
    ),
    "paper-uneven": _(
        # xgettext:no-python-format
        "One side of the white paper is {share} % brighter than the other; turn so that the light "
        "falls evenly, without your own shadow, and try again."
    ),
    "card-uneven": _(
        # xgettext:no-python-format
        "One side of the grey card is {share} % brighter than the other; turn so that the light "
        "falls evenly, without your own shadow, and try again."
    ),
    "leans-orange": _(
        "The whole photo leans orange, and nothing in it shows whether that is the light. Lay "
        "white paper beside the yarn and mark it, or take the photo by a window."
    ),
    "leans-blue": _(
        "The whole photo leans blue, and nothing in it shows whether that is the light. Lay white "
        "paper beside the yarn and mark it, or take the photo by a window."
    ),
}
