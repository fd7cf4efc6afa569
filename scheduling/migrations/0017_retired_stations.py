from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0016_observations")]

    operations = [
        migrations.AddField(
            model_name="weatherstation",
            name="retired_at",
            field=models.DateTimeField(
                blank=True, editable=False, help_text="Since when it is out of use.", null=True
            ),
        ),
    ]
