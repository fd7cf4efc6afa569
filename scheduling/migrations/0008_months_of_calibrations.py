from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('scheduling', '0007_fits_may_grant_all'),
    ]

    operations = [
        migrations.AddField(
            model_name='stationcalibration',
            name='months',
            field=models.JSONField(blank=True, db_default=models.Value([], models.JSONField()), default=list, help_text='Calendar months of those days, 1 to 12: in others it is a guess.'),
        ),
    ]
