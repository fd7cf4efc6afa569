"""Who works here, and the tokens with which their programs and phones sign in."""

from __future__ import annotations

from datetime import datetime
from typing import Any, ClassVar, Final

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models.functions import Lower

from properties.domain.ids import uuid7
from properties.models.checks import one_of


class Role(models.TextChoices):
    OFFICE = "office", "Office"
    TECHNICIAN = "technician", "Technician"


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
    """A person of the company: an office user (password) or a technician (device tokens only)."""

    unlogged: ClassVar[frozenset[str]] = frozenset({"password", "email", "name"})

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=200)
    role = models.CharField(max_length=20, choices=Role.choices)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(auto_now_add=True)

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

    def has_perm(self, perm: str, obj: Any = None) -> bool:
        """The office may do what the admin pages offer: no secret and no fact to edit."""
        return self.is_active and self.is_staff

    def has_module_perms(self, app_label: str) -> bool:
        return self.is_active and self.is_staff


class Licence(models.Model):
    """A licence of a technician; whether work needs one is for the local code."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    staff = models.ForeignKey(StaffMember, on_delete=models.PROTECT, related_name="licences")
    kind = models.CharField(max_length=100, help_text="Such as: irrigation technician.")
    number = models.CharField(max_length=60)
    valid_from = models.DateField()
    valid_until = models.DateField()

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
    label = models.CharField(max_length=100)
    secret_hash = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return f"{self.label} of {self.staff_id}"

    def is_valid_at(self, now: datetime) -> bool:
        return self.revoked_at is None and now < self.expires_at


OFFICE_ONLY: Final = frozenset({Role.OFFICE.value})
ALL_STAFF: Final = frozenset({Role.OFFICE.value, Role.TECHNICIAN.value})
