import uuid

import django.db.models.deletion
import django.utils.timezone
import simple_history.models
from django.conf import settings
from django.db import migrations, models

from records.migrations._together import CreateModels


def keep_each(apps, schema_editor):
    """All kept frames that were there when a sheet was printed, as it was laid out until now."""
    sheets = apps.get_model('records', 'PrintedSheet').objects.exclude(underlay=None)
    under = apps.get_model('records', 'SheetUnderlay').objects
    on_square = apps.get_model('records', 'FrameOnSquare').objects
    for sheet in sheets.iterator():
        squares = sheet.squares.values('square')
        frames = on_square.filter(
            square__in=squares,
            voided_at=None,
            frame__is_kept=True,
            frame__photograph__stage=sheet.stage_id,
            frame__photograph__voided_at=None,
            frame__placement__grid=sheet.grid_id,
            made_at__lte=sheet.made_at,
        ).exclude(frame__placement=sheet.underlay_id)
        below = frames.order_by('fraction', '-frame__photograph__n')
        laid = [*below.values_list('frame__placement', flat=True), sheet.underlay_id]
        for place, placement in enumerate(dict.fromkeys(laid)):
            under.create(
                id=uuid.uuid5(sheet.pk, f'under {placement}'),
                made_at=sheet.made_at,
                made_by_id=sheet.made_by_id,
                sheet=sheet,
                placement_id=placement,
                place=place,
            )


def kept(to, **how):
    return models.ForeignKey(
        on_delete=django.db.models.deletion.PROTECT, related_name='+', to=to, **how
    )


def past(to, **how):
    return models.ForeignKey(
        blank=True, db_constraint=False, null=True,
        on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to=to, **how
    )  # fmt: skip


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0001_squashed_0027_every_table_at_once'),
    ]

    operations = [
        CreateModels([
            migrations.CreateModel(
                name='SheetUnderlay',
                fields=[
                    ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                    ('made_at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                    ('version', models.PositiveIntegerField(default=1, editable=False)),
                    ('voided_at', models.DateTimeField(editable=False, null=True)),
                    ('void_reason', models.TextField(blank=True, editable=False)),
                    ('place', models.PositiveSmallIntegerField(editable=False)),
                    ('made_by', kept(settings.AUTH_USER_MODEL, editable=False, null=True)),
                    ('placement', kept('records.placement')),
                    ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='underlays', to='records.printedsheet')),
                    ('voided_by', kept(settings.AUTH_USER_MODEL, editable=False, null=True)),
                ],
                options={
                    'ordering': ['place'],
                    'abstract': False,
                    'constraints': [
                        models.CheckConstraint(condition=models.Q(models.Q(('void_reason', ''), ('voided_at', None), ('voided_by', None)), models.Q(('voided_at__isnull', False), ('voided_by__isnull', False), models.Q(('void_reason', ''), _negated=True)), _connector='OR'), name='sheetunderlay_void_says_when_who_why', violation_error_message='A voided record says when, by whom and why.'),
                        models.UniqueConstraint(fields=('sheet', 'placement'), name='sheetunderlay_once_in_sheet'),
                    ],
                },
            ),
            migrations.CreateModel(
                name='HistoricalSheetUnderlay',
                fields=[
                    ('id', models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                    ('made_at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                    ('version', models.PositiveIntegerField(default=1, editable=False)),
                    ('voided_at', models.DateTimeField(editable=False, null=True)),
                    ('void_reason', models.TextField(blank=True, editable=False)),
                    ('place', models.PositiveSmallIntegerField(editable=False)),
                    ('history_id', models.AutoField(primary_key=True, serialize=False)),
                    ('history_date', models.DateTimeField(db_index=True)),
                    ('history_change_reason', models.CharField(max_length=100, null=True)),
                    ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                    ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                    ('made_by', past(settings.AUTH_USER_MODEL, editable=False)),
                    ('placement', past('records.placement')),
                    ('sheet', past('records.printedsheet')),
                    ('voided_by', past(settings.AUTH_USER_MODEL, editable=False)),
                ],
                options={
                    'verbose_name': 'historical sheet underlay',
                    'verbose_name_plural': 'historical sheet underlays',
                    'ordering': ('-history_date', '-history_id'),
                    'get_latest_by': ('history_date', 'history_id'),
                },
                bases=(simple_history.models.HistoricalChanges, models.Model),
            ),
        ]),
        migrations.RunPython(keep_each, migrations.RunPython.noop),
    ]
