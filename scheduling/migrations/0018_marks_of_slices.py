from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0017_retired_stations")]

    operations = [
        migrations.AddField(
            model_name="nightslice",
            name="mark",
            field=models.CharField(
                blank=True,
                db_default="",
                default="",
                editable=False,
                help_text="Of the plans of its zones, when the run was divided.",
                max_length=64,
            ),
        ),
    ]
