"""ET0 that was stored before its method was: all of it came from the temperatures alone."""

from django.db import migrations


def name_hargreaves(apps, schema_editor):
    days = apps.get_model("scheduling", "WeatherDay").objects
    days.filter(et0_method="", et0_mm__isnull=False).update(et0_method="hargreaves")


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0005_weather_files_once")]

    operations = [migrations.RunPython(name_hargreaves, migrations.RunPython.noop)]
