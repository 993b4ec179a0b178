from itertools import batched
from typing import Any

from django.db import migrations, models

from palettes.colour.facets import starts_of

AT_ONCE = 500


def fill_in(apps: Any, schema_editor: Any) -> None:
    entries = apps.get_model("palettes", "GalleryEntry").objects.order_by("pk")
    for some in batched(entries.only("words").iterator(AT_ONCE), AT_ONCE):
        for entry in some:
            entry.starts = starts_of(entry.words)
        entries.bulk_update(some, ["starts"])


class Migration(migrations.Migration):
    dependencies = [("palettes", "0009_light_warm_neutrals_are_beige")]

    operations = [
        migrations.RemoveIndex(model_name="galleryentry", name="gallery_newest_first"),
        migrations.AddField(
            model_name="galleryentry",
            name="starts",
            field=models.BigIntegerField(default=0),
        ),
        migrations.RunPython(fill_in, migrations.RunPython.noop),
        migrations.AddIndex(
            model_name="galleryentry",
            index=models.Index(
                fields=[
                    "knit_along", "-registration", "participant", "run", "kit", "scheme",
                    "worst_grade", "mean_grade", "darkest", "lightest", "families_some",
                    "families_half", "families_all", "fibres", "dye_styles", "starts",
                ],
                name="gallery_newest_first",
            ),
        ),
    ]
