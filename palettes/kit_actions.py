"""Verbs on kits: what their makers do, and what the organiser decides.

Each takes the kit's row first, so that a yarn cannot be exchanged while the kit is approved.
"""

from datetime import datetime
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from kal.models import AuditEntry, KnitAlong, User
from palettes.actions import store_photo
from palettes.errors import KitRefused, TooManyPhotos
from palettes.models import Kit, KitMaker, KitPhoto, KitYarn
from palettes.photos import Picture

# Our choice: a page of kits from one shop; more would drown the other shops' kits.
MAX_KITS: Final = 20
# Our choice: two photos of each of five yarns.
MAX_KIT_PHOTOS: Final = 10


@transaction.atomic
def invite_maker(
    knit_along: KnitAlong, *, email: str, name: str, by: User, now: datetime
) -> KitMaker:
    """Invite a shop or dyer, or renew an invitation that was withdrawn, and return it."""
    maker, _is_new = KitMaker.objects.update_or_create(
        knit_along=knit_along,
        email=email.lower(),
        defaults={"name": name, "invited_at": now, "withdrawn_at": None},
    )
    AuditEntry.objects.record(
        knit_along, gettext_noop("invited a kit maker"), by=by, at=now, person=name
    )
    return maker


@transaction.atomic
def withdraw_maker(maker: KitMaker, *, by: User, now: datetime) -> bool:
    """End an invitation: its kits are not shown any more, adopted yarns stay; False if it was."""
    standing = KitMaker.objects.filter(pk=maker.pk, withdrawn_at=None)
    if not standing.update(withdrawn_at=now):
        return False
    AuditEntry.objects.record(
        maker.knit_along,
        gettext_noop("withdrew a kit maker's invitation"),
        by=by,
        at=now,
        person=maker.name,
    )
    return True


@transaction.atomic
def save_kit(kit: Kit, *, now: datetime) -> None:
    """Store a new kit or changed words about one; what is said of link and stock gets its date."""
    if kit.pk is None:
        KitMaker.objects.select_for_update().get(pk=kit.maker_id)
        if kit.maker.kits.count() >= MAX_KITS:
            raise KitRefused(
                _("You have %(count)d kits here, as many as a maker may; change one of them.")
                % {"count": MAX_KITS}
            )
    else:
        lock_draft(kit)
    kit.said_at = now
    kit.save()


@transaction.atomic
def say_stock(kit: Kit, *, now: datetime) -> None:
    """Store the maker's link and stock words of a kit in whatever state, dated `now`."""
    kit.said_at = now
    kit.save(update_fields=["link", "stock", "said_at"])


@transaction.atomic
def save_yarn(yarn: KitYarn) -> None:
    """Store a yarn of a kit that may be changed: a new one goes last, while there is room."""
    kit = lock_draft(yarn.kit)
    if yarn.pk is None:
        count = kit.maker.knit_along.colour_count
        if kit.yarns.count() >= count:
            raise KitRefused(
                _("A kit here has %(count)d yarns, one for each colour; remove one first.")
                % {"count": count}
            )
        last = kit.yarns.last()
        yarn.position = last.position + 1 if last else 0
    yarn.save()


@transaction.atomic
def add_kit_photo(kit: Kit, picture: Picture) -> KitPhoto:
    """Store the pixels of an upload as a photo of a kit that may be changed."""
    lock_draft(kit)
    if kit.photos.count() >= MAX_KIT_PHOTOS:
        raise TooManyPhotos(
            _("A kit keeps {max_photos} photos at most; remove one first.").format(
                max_photos=MAX_KIT_PHOTOS
            )
        )
    photo = KitPhoto(kit=kit, width=picture.width, height=picture.height)
    store_photo(photo, picture)
    return photo


@transaction.atomic
def move_yarn_up(yarn: KitYarn) -> None:
    """Let a yarn and the one before it change places; the first stays where it is."""
    lock_draft(yarn.kit)
    row = list(yarn.kit.yarns.all())
    here = next(place for place, other in enumerate(row) if other.pk == yarn.pk)
    if here:
        row[here - 1], row[here] = row[here], row[here - 1]
    for position, other in enumerate(row):
        other.position = position
    KitYarn.objects.bulk_update(row, ["position"])


@transaction.atomic
def remove_yarn(yarn: KitYarn) -> None:
    lock_draft(yarn.kit)
    yarn.delete()


@transaction.atomic
def propose(kit: Kit, *, now: datetime) -> None:
    """Hand the kit to the organiser; KitRefused with what is missing."""
    lock_draft(kit)
    if missing := what_is_missing(kit, list(kit.yarns.all())):
        raise KitRefused(missing)
    kit.state, kit.proposed_at, kit.reason = Kit.State.PROPOSED, now, ""
    kit.decided_at = None
    kit.save(update_fields=["state", "proposed_at", "reason", "decided_at"])


def what_is_missing(kit: Kit, yarns: list[KitYarn]) -> str:
    """Return one sentence on what a kit lacks to be proposed, or ''."""
    lacking = kit.maker.knit_along.colour_count - len(yarns)
    if lacking > 0:
        return ngettext(
            "Enter %(count)d more yarn: the pattern takes %(colours)d.",
            "Enter %(count)d more yarns: the pattern takes %(colours)d.",
            lacking,
        ) % {"count": lacking, "colours": kit.maker.knit_along.colour_count}
    if lacking < 0:
        return _("The pattern takes %(colours)d yarns and the kit has more; remove some.") % {
            "colours": kit.maker.knit_along.colour_count
        }
    without = [yarn.name for yarn in yarns if not (yarn.put_up_grams and yarn.put_up_metres)]
    if without:
        return _("Say how many grams and metres a ball holds of: %(yarns)s.") % {
            "yarns": "; ".join(without)
        }
    if empty := [yarn.name for yarn in yarns if not yarn.balls]:
        return _("Say how many balls the kit holds of: %(yarns)s.") % {"yarns": "; ".join(empty)}
    return ""


@transaction.atomic
def take_back(kit: Kit) -> None:
    """Make a kit a draft again, to be changed; participants no longer see it."""
    _lock(kit)
    kit.state, kit.decided_at = Kit.State.DRAFT, None
    kit.save(update_fields=["state", "decided_at"])


@transaction.atomic
def approve(kit: Kit, *, by: User, now: datetime) -> None:
    """Show a proposed kit to participants; KitRefused when it is no longer proposed."""
    _lock(kit)
    if kit.state != Kit.State.PROPOSED:
        raise KitRefused(_("This kit is not waiting for you any more; look at it again."))
    kit.state, kit.decided_at, kit.reason = Kit.State.APPROVED, now, ""
    kit.save(update_fields=["state", "decided_at", "reason"])
    _log(kit, gettext_noop("approved a kit"), by=by, now=now)


@transaction.atomic
def decline(kit: Kit, *, reason: str, by: User, now: datetime) -> None:
    """Send a kit back to its maker with the reason, be it proposed or shown already."""
    _lock(kit)
    if kit.state not in (Kit.State.PROPOSED, Kit.State.APPROVED):
        raise KitRefused(_("This kit is not waiting for you any more; look at it again."))
    kit.state, kit.decided_at, kit.reason = Kit.State.DECLINED, now, reason
    kit.save(update_fields=["state", "decided_at", "reason"])
    _log(kit, gettext_noop("declined a kit"), by=by, now=now, why=reason)


def _lock(kit: Kit) -> Kit:
    """Take the kit's row until the transaction ends, and read its state anew."""
    kit.state = Kit.objects.select_for_update().values_list("state", flat=True).get(pk=kit.pk)
    return kit


def lock_draft(kit: Kit) -> Kit:
    """Take the kit's row until the transaction ends; KitRefused unless it may be changed."""
    _lock(kit)
    if not kit.may_change:
        raise KitRefused(_("The kit has been proposed; take it back first, then change it."))
    return kit


def _log(kit: Kit, act: str, *, by: User, now: datetime, **detail: str) -> None:
    knit_along = kit.maker.knit_along
    AuditEntry.objects.record(
        knit_along, act, by=by, at=now, kit=kit.title, maker=kit.maker.name, **detail
    )
