from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("properties", "0009_heartbeats")]

    operations = [
        migrations.AddField(
            model_name="property",
            name="backflow_tested_on",
            field=models.DateField(blank=True, help_text="When the backflow assembly was last tested; empty: not known, or none there.", null=True),
        ),
    ]
