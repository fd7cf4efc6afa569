import django.db.models.deletion
from django.db import migrations, models

PART_BYTES = 1 << 20


def move_content(apps, schema_editor):
    """Give files that wait their bytes in parts."""
    WeatherFile = apps.get_model("scheduling", "WeatherFile")
    Part = apps.get_model("scheduling", "WeatherFilePart")
    for file in WeatherFile.objects.filter(content__isnull=False).iterator(chunk_size=1):
        for number, start in enumerate(range(0, len(file.content), PART_BYTES)):
            content = bytes(file.content[start : start + PART_BYTES])
            Part.objects.create(file=file, number=number, content=content)


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0010_nights")]

    operations = [
        migrations.CreateModel(
            name="WeatherFilePart",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField()),
                ("content", models.BinaryField()),
                ("file", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="parts", to="scheduling.weatherfile")),
            ],
            options={
                "ordering": ["number"],
                "constraints": [models.UniqueConstraint(fields=("file", "number"), name="weather_file_part_once")],
            },
        ),
        migrations.RunPython(move_content, migrations.RunPython.noop),
    ]
