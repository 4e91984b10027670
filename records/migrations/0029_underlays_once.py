from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0028_underlays_kept_one_by_one'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='printedsheet',
            name='printedsheet_sheet_has_squares_board_has_none',
        ),
        migrations.RemoveField(model_name='historicalprintedsheet', name='underlay'),
        migrations.RemoveField(model_name='printedsheet', name='underlay'),
        migrations.AddConstraint(
            model_name='printedsheet',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('block', None), ('grid', None), ('kind', 'board'), ('n', None), ('stage', None)), models.Q(('block__isnull', False), ('grid__isnull', False), ('kind', 'sheet'), ('n__isnull', False), ('stage__isnull', False)), _connector='OR'), name='printedsheet_sheet_has_squares_board_has_none'),
        ),
    ]
