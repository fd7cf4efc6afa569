from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('properties', '0008_water_budgets'),
    ]

    operations = [
        migrations.CreateModel(
            name='Heartbeat',
            fields=[
                ('name', models.CharField(max_length=40, primary_key=True, serialize=False)),
                ('at', models.DateTimeField()),
            ],
        ),
        migrations.AddField(
            model_name='company',
            name='notices_paused_at',
            field=models.DateTimeField(blank=True, editable=False, help_text='While set, no notice goes out.', null=True),
        ),
    ]
