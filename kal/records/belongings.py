"""What is stored about a person: read off the relations of the models, so that none is forgotten.

A row belongs to a person when it would go with them: its foreign key to a user or a participant
cascades, or it is a part of such a row. What others wrote below it (an answer to a question) is
theirs, since it has an author of its own. A relation that is set to null is an act: the row stays
and the name goes.
"""

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

from django.apps import apps
from django.db.models import CASCADE, SET_NULL, EmailField, ForeignKey, Model, Q, QuerySet

from kal.models import Participant, User
from kal.records.files import files_of
from kal.records.values import AnyField, prepared, stored_fields

# Whoever knows one of these can act as the person, so no export holds it.
SECRET = re.compile(r"token|password|secret|session|claim")
SECRET_FIELDS = {"account.emailconfirmation.key", "kal.joincode.code"}
# A relation to a person that is neither of the two, by "app.model.field", with the reason.
EXEMPT: dict[str, str] = {}
# Rows that know somebody by mail address alone: whether they go, or stay without the address.
GOES, STAYS_WITHOUT = "goes", "stays without"
BY_ADDRESS = {
    "kal.joinlistentry": GOES,
    # Participants have kits in their palettes; a shop's trading name stays with them.
    "palettes.kitmaker": STAYS_WITHOUT,
    # What they uploaded for a kit was for their eyes alone.
    "palettes.kitphoto": GOES,
    "palettes.kitmark": GOES,
}
# Where the address is found that such a row is known by, if not on the row itself.
ADDRESS_AT = {
    "palettes.kitphoto": "kit__maker__email",
    "palettes.kitmark": "photo__kit__maker__email",
}


def belongings(person: User | Participant) -> Iterator[tuple[str, QuerySet[Model]]]:
    """Yield the label of each model and its rows that belong to the person.

    A participant's are those of one knit-along.
    """
    target = person._meta.model  # a request's user is wrapped in another type
    for model in apps.get_models():
        lookup = path_to(model, target)
        if lookup is not None:
            rows = model._base_manager.filter(**{lookup or "pk": person.pk})
            yield model._meta.label_lower, rows.order_by("pk")
        elif isinstance(person, User) and model._meta.label_lower in BY_ADDRESS:
            rows = model._base_manager.filter(of_address(model, person.email))
            yield model._meta.label_lower, rows.order_by("pk")


@cache
def path_to(model: type[Model], target: type[Model]) -> str | None:
    """Return the look-up from a model to the person it belongs to; "" for the person, or None."""
    if model is target:
        return ""
    owned = [key for key in foreign_keys(model) if key.remote_field.on_delete is CASCADE]
    people = [key for key in owned if key.related_model in (User, Participant)]
    # With an owner of its own, a row is nobody else's, whatever it hangs on.
    for key in people or owned:
        assert isinstance(key.related_model, type)
        if key.related_model is model:
            continue
        further = path_to(key.related_model, target)
        if further is not None:
            return "__".join(filter(None, (key.name, further)))
    return None


def foreign_keys(model: type[Model]) -> list[ForeignKey[Any, Any]]:
    return [field for field in model._meta.concrete_fields if isinstance(field, ForeignKey)]


def unaccounted() -> Iterator[str]:
    """Yield relations to a person that neither cascade nor are set to null, and stray addresses."""
    for model in apps.get_models():
        label = model._meta.label_lower
        for key in foreign_keys(model):
            if key.related_model not in (User, Participant):
                continue
            fates = (CASCADE, SET_NULL)
            if key.remote_field.on_delete not in fates and f"{label}.{key.name}" not in EXEMPT:
                yield f"{label}.{key.name} keeps a person from being erased."
        if address_fields(model) and path_to(model, User) is None and label not in BY_ADDRESS:
            yield f"{label} holds mail addresses that neither an export nor an erasure reaches."


def address_fields(model: type[Model]) -> list[str]:
    return [field.name for field in model._meta.concrete_fields if isinstance(field, EmailField)]


def of_address(model: type[Model], address: str) -> Q:
    """Return the condition that one of the row's addresses is this one, in whichever case."""
    condition, elsewhere = Q(), ADDRESS_AT.get(model._meta.label_lower)
    for name in [elsewhere] if elsewhere else address_fields(model):
        condition |= Q(**{f"{name}__iexact": address})
    return condition


def told(row: Model) -> dict[str, object]:
    """Return a row's fields as an export shows them, without what opens doors."""
    return {
        field.attname: prepared(field, getattr(row, field.attname))
        for field in shown_fields(type(row))
    }


def shown_fields(model: type[Model]) -> list[AnyField]:
    """Return the fields of a model that an export shows."""
    label = model._meta.label_lower
    return [
        field
        for field in stored_fields(model)
        if not SECRET.search(field.name) and f"{label}.{field.name}" not in SECRET_FIELDS
    ]


def files_of_person(person: User | Participant) -> list[str]:
    """Return the paths of all private files that belong to the person."""
    return [
        path for _, rows in belongings(person) for row in rows.iterator() for path in files_of(row)
    ]
