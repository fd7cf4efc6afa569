from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0011_weather_file_parts")]

    operations = [migrations.RemoveField(model_name="weatherfile", name="content")]
