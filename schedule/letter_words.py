"""The words of letters and their meetings: the one home of how a margin is told."""

from django.utils.translation import gettext as _

from palettes.colour.contrast import JUST_NOTICEABLE, WORKABLE_FROM

# CIEDE2000 over the need. Our choice: below a just noticeable difference chance decides, and a
# margin as wide as what makes a pair workable at all is more than any photo or screen errs by.
TIGHT_BELOW = JUST_NOTICEABLE
AMPLE_FROM = WORKABLE_FROM


def margin_words(margin: float) -> str:
    """Return a margin, CIEDE2000 over what the meeting needs, as a verb."""
    if margin < 0:
        return _("does not read")
    if margin < TIGHT_BELOW:
        return _("only just reads")
    return _("reads with room to spare") if margin >= AMPLE_FROM else _("reads")
