from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("properties", "0015_writes")]

    operations = [
        migrations.AddIndex(
            model_name="job",
            index=models.Index(fields=["kind", "subject_id"], name="job_of_subject"),
        ),
        migrations.AddIndex(
            model_name="job",
            index=models.Index(
                condition=models.Q(("ended_at__isnull", False)),
                fields=["ended_at"],
                name="job_ended",
            ),
        ),
    ]
