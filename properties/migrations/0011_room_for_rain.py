from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('properties', '0010_backflow_tests'),
    ]

    operations = [
        migrations.AddField(
            model_name='company',
            name='leaves_room_for_rain',
            field=models.BooleanField(db_default=False, default=False, help_text='The running plan waters sooner and less, so that rain finds room in the roots.'),
        ),
    ]
