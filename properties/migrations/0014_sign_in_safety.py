import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import properties.domain.ids


class Migration(migrations.Migration):

    dependencies = [
        ("properties", "0013_erased_clients"),
    ]

    operations = [
        migrations.AddField(
            model_name="staffmember",
            name="second_factor_at",
            field=models.DateTimeField(editable=False, null=True, verbose_name="second factor since"),
        ),
        migrations.AddField(
            model_name="staffmember",
            name="sign_in_epoch",
            field=models.PositiveIntegerField(db_default=0, default=0, editable=False),
        ),
        migrations.AddField(
            model_name="accesstoken",
            name="kind",
            field=models.CharField(
                choices=[
                    ("sign_in", "Sign-in of a person"),
                    ("program", "Program"),
                    ("device", "Device of a technician"),
                ],
                db_default="sign_in",
                default="sign_in",
                max_length=20,
            ),
        ),
        migrations.AddField(
            model_name="accesstoken",
            name="last_used_at",
            field=models.DateTimeField(
                blank=True,
                help_text="To ten minutes; empty for a token that was never used.",
                null=True,
            ),
        ),
        migrations.AddConstraint(
            model_name="accesstoken",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ["sign_in", "program", "device"])),
                name="properties_accesstoken_kind",
                violation_error_message="kind: use one of sign_in, program, device.",
            ),
        ),
        migrations.CreateModel(
            name="RecoveryCode",
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
                ("secret_hash", models.CharField(editable=False, max_length=64, unique=True)),
                ("created_at", models.DateTimeField()),
                ("used_at", models.DateTimeField(blank=True, null=True)),
                (
                    "staff",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="recovery_codes",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={"ordering": ["-id"]},
        ),
        migrations.CreateModel(
            name="SignInCount",
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
                ("key", models.CharField(editable=False, max_length=64, unique=True)),
                (
                    "counted_by",
                    models.CharField(
                        choices=[("account", "Account"), ("address", "Address")], max_length=20
                    ),
                ),
                ("failures", models.PositiveIntegerField(default=0)),
                ("window_ends_at", models.DateTimeField()),
                ("locked_until", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ["-id"],
                "indexes": [models.Index(fields=["window_ends_at"], name="sign_in_count_age")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("counted_by__in", ["account", "address"])),
                        name="properties_signincount_counted_by",
                        violation_error_message="counted_by: use one of account, address.",
                    )
                ],
            },
        ),
    ]
