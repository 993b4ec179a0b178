"""What each kind of row that belongs to a person is called on the page of what is kept of them."""

from collections.abc import Mapping
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

KEPT: Final[Mapping[str, Promise]] = {
    "kal.user": _("your account"),
    "kal.participant": _("knit-alongs you take or took part in"),
    "kal.consent": _("what you agreed to or took back"),
    "kal.joinlistentry": _("your address on lists of organisers"),
    "palettes.palette": _("palettes"),
    "palettes.yarn": _("yarns"),
    "palettes.photo": _("photos"),
    "palettes.mark": _("boxes marked in photos"),
    "palettes.registration": _("palettes as you registered them"),
    "palettes.registeredyarn": _("yarns of registered palettes"),
    "palettes.galleryentry": _("palettes in the gallery"),
    "palettes.kitmaker": _("invitations to make kits"),
    "palettes.kitphoto": _("photos of kits you make"),
    "palettes.kitmark": _("boxes marked in photos of kits"),
    "schedule.feedkey": _("secret addresses of your calendars"),
    "schedule.ownknitting": _("how you knit"),
    "schedule.letterchoice": _("letters you chose for your yarns"),
    "schedule.palettenote": _("notes on your palette"),
    "schedule.notice": _("mails to you"),
    "schedule.opening": _("clues you opened"),
    "schedule.post": _("posts"),
    "schedule.question": _("questions"),
    "schedule.answer": _("answers"),
    "schedule.earlierwords": _("earlier words of what you wrote and edited"),
    "schedule.readercomment": _("comments on clues you read early"),
    "schedule.signoff": _("clues you signed off"),
    "schedule.report": _("your reports of posts and questions"),
    "schedule.postingblock": _("times you were kept from posting"),
    "schedule.unsavedwords": _("words you typed and have not saved"),
    "schedule.unveiling": _("covers you lifted"),
    "schedule.weighin": _("weigh-ins"),
    "account.emailaddress": _("mail addresses to sign in with"),
    "account.emailconfirmation": _("mail addresses being confirmed"),
}
