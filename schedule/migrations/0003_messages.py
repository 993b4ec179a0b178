import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):

    dependencies = [
        ('schedule', '0002_sections_and_meetings'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Message',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(help_text='What makes a second one the same message.', max_length=120)),
                ('kind', models.CharField(max_length=24)),
                ('subject', models.CharField(max_length=200)),
                ('body', models.TextField(help_text='Plain text; an empty line begins a paragraph.')),
                ('path', models.CharField(blank=True, help_text='The page to read on, if any.', max_length=300)),
                ('created_at', models.DateTimeField()),
                ('author', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('knit_along', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='messages', to='kal.knitalong')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.UniqueConstraint(fields=('knit_along', 'key'), name='one_message_per_key')],
            },
        ),
        migrations.RemoveConstraint('notice', 'one_notice_per_event'),
        migrations.RenameField('notice', 'event', 'kind'),
        migrations.RenameField('notice', 'message_id', 'mail_id'),
        migrations.AlterField(
            'notice', 'mail_id',
            models.CharField(help_text='Its Message-ID, the same however often it is sent.', max_length=120, unique=True),
        ),
        migrations.AlterField(
            'notice', 'kind',
            models.CharField(help_text='A name out of schedule.notices.kinds.', max_length=24),
        ),
        migrations.AlterField(
            'notice', 'clue',
            models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='notices', to='schedule.clue'),
        ),
        migrations.AddField(
            'notice', 'message',
            models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='notices', to='schedule.message'),
        ),
        migrations.AddField(
            'notice', 'merge',
            models.JSONField(blank=True, default=dict, help_text="The recipient's own values for {names} in the message."),
        ),
        migrations.AddConstraint(
            'notice',
            models.UniqueConstraint(fields=('participant', 'clue', 'kind', 'revision'), name='one_notice_per_event'),
        ),
        migrations.AddConstraint(
            'notice',
            models.UniqueConstraint(fields=('participant', 'message'), name='one_notice_per_message'),
        ),
        migrations.AddConstraint(
            'notice',
            models.CheckConstraint(
                condition=Q(('clue', None), ('message__isnull', False)) | Q(('clue__isnull', False), ('message', None)),
                name='notices_of_clue_or_message',
            ),
        ),
    ]
