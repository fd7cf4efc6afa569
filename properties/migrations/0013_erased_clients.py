from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("properties", "0012_what_controllers_can_do")]

    operations = [
        migrations.AddField(
            model_name="customer",
            name="erased_at",
            field=models.DateTimeField(
                blank=True,
                editable=False,
                help_text="Since when nobody knows who this was.",
                null=True,
            ),
        ),
        migrations.AddField(
            model_name="customer",
            name="erased_for",
            field=models.CharField(
                blank=True,
                choices=[
                    ("asked", "The client asked for it."),
                    ("kept-long-enough", "His data was kept as long as it may be."),
                    ("mistake", "The client was entered by mistake."),
                ],
                db_default="",
                default="",
                editable=False,
                max_length=20,
            ),
        ),
        migrations.AddConstraint(
            model_name="customer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("erased_for__in", ["", "asked", "kept-long-enough", "mistake"])
                ),
                name="properties_customer_erased_for",
                violation_error_message="erased_for: use one of asked, kept-long-enough, mistake,"
                " or leave it empty.",
            ),
        ),
        migrations.AddConstraint(
            model_name="customer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("erased_at__isnull", True),
                    models.Q(("email", ""), ("phone", ""), ("wants_notices", False)),
                    _connector="OR",
                ),
                name="customer_erased_has_no_contact",
                violation_error_message="email: this client was erased. Enter a new one instead.",
            ),
        ),
    ]
