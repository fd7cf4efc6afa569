import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import properties.domain.ids


class Migration(migrations.Migration):
    dependencies = [("properties", "0014_sign_in_safety")]

    operations = [
        migrations.CreateModel(
            name="IdempotencyKey",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=properties.domain.ids.uuid7,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                ("key", models.CharField(max_length=255)),
                ("request_sha256", models.CharField(max_length=64)),
                ("status", models.PositiveSmallIntegerField()),
                ("body", models.JSONField(null=True)),
                ("created_at", models.DateTimeField()),
                (
                    "caller",
                    models.ForeignKey(
                        help_text="Nobody: the key is the id of a row, whoever sends it.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "indexes": [models.Index(fields=["created_at"], name="idempotency_key_age")],
                "constraints": [
                    models.UniqueConstraint(fields=("caller", "key"), name="idempotency_key_once"),
                    models.UniqueConstraint(
                        condition=models.Q(("caller__isnull", True)),
                        fields=("key",),
                        name="idempotency_row_once",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="controller",
            name="retired_at",
            field=models.DateTimeField(
                blank=True, editable=False, help_text="Since when it is out of use.", null=True
            ),
        ),
        migrations.AddField(
            model_name="customer",
            name="retired_at",
            field=models.DateTimeField(
                blank=True, editable=False, help_text="Since when it is out of use.", null=True
            ),
        ),
        migrations.AddField(
            model_name="headgroup",
            name="retired_at",
            field=models.DateTimeField(
                blank=True, editable=False, help_text="Since when it is out of use.", null=True
            ),
        ),
        migrations.AddField(
            model_name="licence",
            name="retired_at",
            field=models.DateTimeField(
                blank=True, editable=False, help_text="Since when it is out of use.", null=True
            ),
        ),
        migrations.AddField(
            model_name="property",
            name="retired_at",
            field=models.DateTimeField(
                blank=True, editable=False, help_text="Since when it is out of use.", null=True
            ),
        ),
        migrations.AddField(
            model_name="licence",
            name="revision",
            field=models.PositiveIntegerField(db_default=1, default=1, editable=False),
        ),
        migrations.AddField(
            model_name="staffmember",
            name="revision",
            field=models.PositiveIntegerField(db_default=1, default=1, editable=False),
        ),
    ]
