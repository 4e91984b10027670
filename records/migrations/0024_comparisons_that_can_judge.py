import math

from django.db import migrations, models

LEAST_FEATURES, LEAST_SPREAD_M = 3, 0.02


def can_judge(points_m):
    """As comparisons told it when this was written: enough features, not all at one place."""
    if len(points_m) < LEAST_FEATURES:
        return False
    drawn = [row[:2] for row in points_m]
    x, y = (sum(one[axis] for one in drawn) / len(drawn) for axis in (0, 1))
    squares = sum((one[0] - x) ** 2 + (one[1] - y) ** 2 for one in drawn)
    return math.sqrt(squares / len(drawn)) >= LEAST_SPREAD_M


def judge_those_made(apps, schema_editor):
    for name in ('Comparison', 'HistoricalComparison'):
        for row in apps.get_model('records', name).objects.iterator():
            row.can_judge = can_judge(row.points_m)
            row.save(update_fields=['can_judge'])


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0023_frame_unsaid'),
    ]

    operations = [
        migrations.AddField(
            model_name='comparison',
            name='can_judge',
            field=models.BooleanField(default=True, editable=False),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name='historicalcomparison',
            name='can_judge',
            field=models.BooleanField(default=True, editable=False),
            preserve_default=False,
        ),
        migrations.RunPython(judge_those_made, migrations.RunPython.noop),
    ]
