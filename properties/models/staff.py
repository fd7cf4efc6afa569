"""Who works here, and the tokens with which their programs and phones sign in."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar, Final

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac

from properties.domain.ids import uuid7
from properties.models.checks import one_of
from properties.models.rows import Retirable


class Role(models.TextChoices):
    OFFICE = "office", "Office"
    TECHNICIAN = "technician", "Technician"


class TokenKind(models.TextChoices):
    SIGN_IN = "sign_in", "Sign-in of a person"
    PROGRAM = "program", "Program"
    DEVICE = "device", "Device of a technician"


class StaffManager(BaseUserManager["StaffMember"]):
    """Makes accounts; Django's own commands call it by these names."""

    def create_user(
        self, email: str, password: str | None = None, *, name: str, role: str
    ) -> StaffMember:
        member = self.model(email=email.strip().lower(), name=name, role=role)
        member.set_password(password)
        member.full_clean(exclude=["password"])
        member.save(using=self._db)
        return member

    def create_superuser(
        self, email: str, password: str | None = None, *, name: str
    ) -> StaffMember:
        member = self.create_user(email, password, name=name, role=Role.OFFICE)
        member.is_superuser = True
        member.save(using=self._db)
        return member


class StaffMember(AbstractBaseUser, PermissionsMixin):
    """A person of the company: an office user or a technician.

    An office user has a password and, since `second_factor_at`, a second factor; a technician has
    device tokens only. A higher `sign_in_epoch` ends every browser session of the person.
    """

    unlogged: ClassVar[frozenset[str]] = frozenset({"password", "email", "name"})
    retires_by: ClassVar[str] = "is_active"

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=200)
    role = models.CharField(max_length=20, choices=Role.choices)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(auto_now_add=True)
    revision = models.PositiveIntegerField(default=1, db_default=1, editable=False)
    second_factor_at = models.DateTimeField("second factor since", null=True, editable=False)
    sign_in_epoch = models.PositiveIntegerField(default=0, db_default=0, editable=False)

    objects: ClassVar[StaffManager] = StaffManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        verbose_name = "staff member"
        ordering = ["name"]
        constraints = [
            one_of("role", Role.choices),
            models.UniqueConstraint(Lower("email"), name="staff_email_once"),
            models.CheckConstraint(
                condition=models.Q(role=Role.OFFICE) | models.Q(is_superuser=False),
                name="staff_superuser_is_office",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_staff(self) -> bool:
        """Only the office enters the admin pages."""
        return self.role == Role.OFFICE

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """Bind a browser session to the password and to the epoch, as Django does to the first."""
        salt = "properties.models.staff.StaffMember.session"
        bound = f"{self.sign_in_epoch}:{self.password}"
        return salted_hmac(salt, bound, secret=secret, algorithm="sha256").hexdigest()

    def has_perm(self, perm: str, obj: Any = None) -> bool:
        """The office may do what the admin pages offer: no secret and no fact to edit."""
        return self.is_active and self.is_staff

    def has_module_perms(self, app_label: str) -> bool:
        return self.is_active and self.is_staff


class Licence(Retirable):
    """A licence of a technician; whether work needs one is for the local code."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    staff = models.ForeignKey(StaffMember, on_delete=models.PROTECT, related_name="licences")
    kind = models.CharField(max_length=100, help_text="Such as: irrigation technician.")
    number = models.CharField(max_length=60)
    valid_from = models.DateField()
    valid_until = models.DateField()
    revision = models.PositiveIntegerField(default=1, db_default=1, editable=False)

    class Meta:
        ordering = ["staff_id", "valid_until"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "number"], name="licence_number_once"),
            models.CheckConstraint(
                condition=models.Q(valid_from__lte=models.F("valid_until")),
                name="licence_days_in_order",
                violation_error_message="valid_until: the licence must not end before it begins.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.number}"


class AccessToken(models.Model):
    """A revocable sign-in. Only the hash of the secret is kept."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    staff = models.ForeignKey(StaffMember, on_delete=models.PROTECT, related_name="tokens")
    kind = models.CharField(
        max_length=20, choices=TokenKind.choices, default=TokenKind.SIGN_IN, db_default="sign_in"
    )
    label = models.CharField(max_length=100)
    secret_hash = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_at = models.DateTimeField(
        null=True, blank=True, help_text="To ten minutes; empty for a token that was never used."
    )

    class Meta:
        ordering = ["-created_at"]
        constraints = [one_of("kind", TokenKind.choices)]

    def __str__(self) -> str:
        return f"{self.label} of {self.staff_id}"

    def is_valid_at(self, now: datetime) -> bool:
        return self.revoked_at is None and now < self.expires_at


OFFICE_ONLY: Final = frozenset({Role.OFFICE.value})
ALL_STAFF: Final = frozenset({Role.OFFICE.value, Role.TECHNICIAN.value})
