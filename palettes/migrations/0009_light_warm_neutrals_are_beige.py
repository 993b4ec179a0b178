"""Call the light warm neutrals of palettes registered before beige, as new ones are."""

from itertools import batched
from typing import Any

from django.db import migrations

from palettes.colour.families import shade_of
from palettes.colour.spaces import Lab

AT_ONCE = 500


def name_beiges(apps: Any, schema_editor: Any) -> None:
    yarns = apps.get_model("palettes", "RegisteredYarn").objects
    greys = yarns.filter(family="neutral", shade_word="grey")
    colours = greys.values_list("pk", "lab_l", "lab_a", "lab_b").iterator()
    beiges = [pk for pk, *lab in colours if shade_of(Lab(*lab)) == "beige"]
    for some in batched(beiges, AT_ONCE):
        yarns.filter(pk__in=some).update(shade_word="beige")


def name_greys(apps: Any, schema_editor: Any) -> None:
    yarns = apps.get_model("palettes", "RegisteredYarn").objects
    yarns.filter(shade_word="beige").update(shade_word="grey")


class Migration(migrations.Migration):
    dependencies = [("palettes", "0008_makers_measure_photos")]

    operations = [migrations.RunPython(name_beiges, name_greys)]
