from typing import Any

from django.db import migrations

WISHES = {"mail": "wants_notices", "gallery": "shows_palette"}


def date_them(apps: Any, schema_editor: Any) -> None:
    """What somebody agreed to before changes were dated counts from the day they joined."""
    participants = apps.get_model("kal", "Participant").objects.order_by("pk")
    consents = apps.get_model("kal", "Consent")
    for purpose, field in WISHES.items():
        agreed = participants.filter(**{field: True}).values_list("pk", "joined_at")
        consents.objects.bulk_create(
            (
                consents(participant_id=pk, purpose=purpose, is_given=True, at=joined_at)
                for pk, joined_at in agreed.iterator(chunk_size=500)
            ),
            batch_size=500,
        )


class Migration(migrations.Migration):
    dependencies = [("kal", "0004_consents_erasures_and_archives")]
    operations = [migrations.RunPython(date_them, migrations.RunPython.noop)]
