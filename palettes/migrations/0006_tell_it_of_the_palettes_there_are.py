"""Fill in what palettes registered before are like, and keep one entry of each."""

from collections.abc import Iterable
from itertools import batched
from typing import Any

from django.db import migrations

from palettes.colour.facets import Facets, read_facets
from palettes.colour.pair_matrix import left_of
from palettes.colour.spaces import Lab
from palettes.colour.swatch import Fabric, Swatch
from palettes.fibre import read_fibre

AT_ONCE = 500
FEWEST = 2


def fill_in(apps: Any, schema_editor: Any) -> None:
    entries = apps.get_model("palettes", "GalleryEntry").objects.order_by("pk")
    entries.exclude(family="").delete()
    for some in batched(
        entries.select_related("knit_along").prefetch_related("registration__yarns").iterator(AT_ONCE),
        AT_ONCE,
    ):
        for entry in some:
            fabric = Fabric(
                float(entry.knit_along.gauge_stitches), float(entry.knit_along.gauge_rows)
            )
            for name, value in facets_of(chosen_of(entry), fabric).items():
                setattr(entry, name, value)
        entries.bulk_update(some, Facets._fields)


def facets_of(yarns: list[Any], fabric: Fabric) -> dict[str, Any]:
    if len(yarns) < FEWEST:
        return {}
    swatches = [
        Swatch(
            name=yarn.name,
            lab=Lab(yarn.lab_l, yarn.lab_a, yarn.lab_b),
            spread=yarn.spread,
            dye_style=yarn.dye_style,
            fibre=read_fibre(yarn.fibre),
        )
        for yarn in yarns
    ]
    return read_facets(swatches, [families_of(yarn) for yarn in yarns], left_of(swatches, fabric))._asdict()


def forget(apps: Any, schema_editor: Any) -> None:
    """Give each palette an entry for each of its families again."""
    model = apps.get_model("palettes", "GalleryEntry")
    entries = model.objects.filter(family="").order_by("pk")
    for some in batched(
        entries.prefetch_related("registration__yarns").iterator(AT_ONCE), AT_ONCE
    ):
        model.objects.bulk_create(
            model(
                registration_id=entry.registration_id,
                knit_along_id=entry.knit_along_id,
                participant_id=entry.participant_id,
                kit_id=entry.kit_id,
                run=entry.run,
                family=family,
            )
            for entry in some
            for family in sorted({name for yarn in chosen_of(entry) for name in families_of(yarn)})
        )


def chosen_of(entry: Any) -> list[Any]:
    return [yarn for yarn in entry.registration.yarns.all() if not yarn.is_spare]


def families_of(yarn: Any) -> Iterable[str]:
    return [name for name in (yarn.family, yarn.second_family) if name]


class Migration(migrations.Migration):
    dependencies = [("palettes", "0005_the_gallery_tells_what_a_palette_is_like")]

    operations = [migrations.RunPython(fill_in, forget)]
