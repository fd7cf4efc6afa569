"""The second factor of an office user: a code that changes each half minute, or a recovery code.

1. Whoever proved his password is shown a new secret, once, and gets a ticket.
2. The first code made from it, sent back with the ticket, makes it his factor; whatever he was
   signed in with before ends, and he is shown ten recovery codes, once.
3. Another office user, or the operator at the command line, takes a lost factor away.
"""

from __future__ import annotations

import secrets
from base64 import b32encode
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from urllib.parse import quote, urlencode
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.db import transaction
from django.db.models import F
from django_otp.plugins.otp_totp.models import TOTPDevice

from properties.domain.errors import InvalidInputError, RefusedError
from properties.domain.secret_hashes import hash_secret
from properties.models import AccessToken, Company, RecoveryCode, StaffMember
from properties.services.events import record_event

RECOVERY_CODES: Final = 10
GROUPS, GROUP_LENGTH = 4, 4
LETTERS: Final = "23456789abcdefghjkmnpqrstuvwxyz"  # 31, none like another: 79 bits in 16
NOBODY: Final = UUID(int=0)
_SALT: Final = "properties.services.second_factor"


@dataclass(frozen=True)
class Enrolment:
    """What is shown once to whoever sets up a factor."""

    ticket: str
    secret: str
    uri: str


@transaction.atomic
def begin_enrolment(member: StaffMember) -> Enrolment:
    """Make a secret that is not in force yet; one that was begun before is forgotten."""
    TOTPDevice.objects.filter(user=member, confirmed=False).delete()
    company = Company.objects.only("name").first()
    device = TOTPDevice.objects.create(user=member, name="second factor", confirmed=False)
    issuer = (company.name if company else "Office").replace(":", " ")
    return Enrolment(
        ticket=signing.dumps(device.pk, salt=_SALT),
        secret=b32encode(device.bin_key).decode().rstrip("="),
        uri=_with_issuer(device, issuer),
    )


def confirm_enrolment(*, ticket: str, code: str, now: datetime) -> tuple[StaffMember, list[str]]:
    """Put the new factor in force with its first code; return its owner and recovery codes."""
    codes = None
    with transaction.atomic():
        device = _device_of(ticket)
        if device.verify_token(_plain(code)):
            codes = _put_in_force(device, now)
    if codes is None:  # after the transaction: the failure itself is counted
        raise InvalidInputError(
            "This is not the code of the new secret.",
            field="code", code="wrong-code",
            remedy="Wait for the next code and send that; see that the phone's clock is right.",
        )  # fmt: skip
    return device.user, codes


@transaction.atomic
def passes(member: StaffMember | None, code: str, *, now: datetime) -> bool:
    """Return whether a code of six digits or a recovery code is right; each is good once.

    Nobody (None) costs the same look-ups as somebody.
    """
    plain = _plain(code)
    pk = member.pk if member else NOBODY
    device = TOTPDevice.objects.select_for_update().filter(user=pk, confirmed=True).first()
    if plain.isdecimal():
        return device is not None and bool(device.verify_token(plain))
    unused = RecoveryCode.objects.filter(staff=pk, secret_hash=hash_secret(plain), used_at=None)
    if unused.update(used_at=now) != 1 or member is None:
        return False
    left = RecoveryCode.objects.filter(staff=member, used_at=None).count()
    record_event(member, act="recovery code used", actor=member, now=now, after={"left": left})
    return True


@transaction.atomic
def renew_recovery_codes(member: StaffMember, *, actor: StaffMember, now: datetime) -> list[str]:
    """Replace all recovery codes; the new ones are returned once."""
    if member.second_factor_at is None:
        raise RefusedError(
            "There is no second factor that these codes could stand for.",
            code="no-second-factor", remedy="Set up a second factor first.",
        )  # fmt: skip
    codes = _new_codes(member, now)
    record_event(member, act="recovery codes renewed", actor=actor, now=now)
    return codes


@transaction.atomic
def reset_second_factor(
    member: StaffMember, *, actor: StaffMember | None, now: datetime
) -> StaffMember:
    """Take a lost factor away; the person signs in nowhere until he has set up a new one."""
    if actor is not None and actor.pk == member.pk:
        raise RefusedError(
            "Nobody resets his own second factor.",
            code="own-second-factor",
            remedy="Ask another office user, or set up a new one with a code of the old.",
        )
    TOTPDevice.objects.filter(user=member).delete()
    RecoveryCode.objects.filter(staff=member).delete()
    _change_factor(member, None, now)
    record_event(member, act="second factor reset", actor=actor, now=now)
    return member


def end_sign_ins(member: StaffMember, *, now: datetime) -> int:
    """End all tokens and browser sessions of a person; return how many tokens ended."""
    StaffMember.objects.filter(pk=member.pk).update(sign_in_epoch=F("sign_in_epoch") + 1)
    member.refresh_from_db(fields=["sign_in_epoch"])
    return AccessToken.objects.filter(staff=member, revoked_at=None).update(revoked_at=now)


def _device_of(ticket: str) -> TOTPDevice:
    try:
        pk = signing.loads(ticket, salt=_SALT, max_age=settings.ENROLMENT_MIN * 60)
        waiting = TOTPDevice.objects.select_for_update(of=("self",)).select_related("user")
        device: TOTPDevice = waiting.get(pk=pk, confirmed=False, user__is_active=True)
    except (signing.BadSignature, TOTPDevice.DoesNotExist):
        raise InvalidInputError(
            "This ticket is unknown, used or too old.",
            field="ticket", code="ticket-over", remedy="Begin again with e-mail and password.",
        ) from None  # fmt: skip
    return device


def _put_in_force(device: TOTPDevice, now: datetime) -> list[str]:
    member = device.user
    TOTPDevice.objects.filter(user=member).exclude(pk=device.pk).delete()
    device.confirmed = True
    device.save(update_fields=["confirmed"])
    _change_factor(member, now, now)
    record_event(member, act="second factor set up", actor=member, now=now)
    return _new_codes(member, now)


def _change_factor(member: StaffMember, since: datetime | None, now: datetime) -> None:
    member.second_factor_at = since
    member.save(update_fields=["second_factor_at"])
    end_sign_ins(member, now=now)


def _new_codes(member: StaffMember, now: datetime) -> list[str]:
    RecoveryCode.objects.filter(staff=member).delete()
    codes = [_new_code() for _ in range(RECOVERY_CODES)]
    RecoveryCode.objects.bulk_create(
        RecoveryCode(staff=member, secret_hash=hash_secret(_plain(code)), created_at=now)
        for code in codes
    )
    return codes


def _new_code() -> str:
    groups = ("".join(secrets.choice(LETTERS) for _ in range(GROUP_LENGTH)) for _ in range(GROUPS))
    return "-".join(groups)


def _plain(code: str) -> str:
    """Return a code as it is compared: people type spaces, hyphens and capitals."""
    return "".join(code.split()).replace("-", "").lower()


def _with_issuer(device: TOTPDevice, issuer: str) -> str:
    facts = {
        "secret": b32encode(device.bin_key).decode().rstrip("="), "issuer": issuer,
        "algorithm": "SHA1", "digits": device.digits, "period": device.step,
    }  # fmt: skip
    label = quote(f"{issuer}:{device.user.get_username()}")
    return f"otpauth://totp/{label}?{urlencode(facts, quote_via=quote)}"
