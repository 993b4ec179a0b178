from django.db import migrations, models

NUMBERS = (
    *("worst_grade", "mean_grade", "families_some", "families_half", "families_all"),
    *("fibres", "dye_styles"),
)


class Migration(migrations.Migration):
    dependencies = [("palettes", "0004_kits_of_shops_and_dyers")]

    operations = [
        migrations.AddField(
            "galleryentry", "scheme", models.CharField(max_length=20, default="")
        ),
        migrations.AddField("galleryentry", "darkest", models.FloatField(default=0)),
        migrations.AddField("galleryentry", "lightest", models.FloatField(default=0)),
        migrations.AddField("galleryentry", "words", models.TextField(default="")),
        *(
            migrations.AddField(
                "galleryentry", name, models.PositiveSmallIntegerField(default=0)
            )
            for name in NUMBERS
        ),
    ]
