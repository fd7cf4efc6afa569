"""Steps at which a process kills itself or waits, once for each step that the environment names.

Batches are small here, so that each job has a middle to die in.
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.apps import AppConfig
from django.utils import timezone

from tests.reports.faults.clock import moved_now

LONGEST_HOLD_S = 120.0


class FaultsConfig(AppConfig):
    name = "tests.reports.faults"

    def ready(self) -> None:
        timezone.now = moved_now
        cut_small()
        mark_steps_of_notices()
        mark_steps_of_nights()
        mark_steps_of_looks()


def cut_small() -> None:
    from scheduling.selectors import night_inputs, reminder_batches
    from scheduling.services import notices, weather_news

    notices.BATCH = weather_news.BATCH = reminder_batches.AT_ONCE = 2
    night_inputs.SLICE_ZONES = 1


def mark_steps_of_notices() -> None:
    from django.core.mail import EmailMultiAlternatives

    from properties.services import jobs
    from scheduling.services import notices

    handlers, gathers = jobs._HANDLERS, jobs._GATHERS
    after(jobs, "claim", "claimed")
    after(gathers, "notice-sheet", "sheet rendered")
    after(handlers, "notice-sheet", "sheet stored")
    before(EmailMultiAlternatives, "send", "before sending")
    after(EmailMultiAlternatives, "send", "after sending")
    before(handlers, "deliver-notice", "before the mark")
    after(handlers, "deliver-notice", "after the mark")
    after(jobs, "run_job", "before the acknowledgement")
    wrap(notices, "_queue_batch", queue_and_come)
    after(gathers, "monthly-notices", "all of the month queued")
    after(handlers, "monthly-notices", "the month counted")


def mark_steps_of_nights() -> None:
    from properties.services import jobs
    from scheduling.services import night_runs, weather_news

    handlers, gathers = jobs._HANDLERS, jobs._GATHERS
    after(gathers, "night-start", "plans read")
    before(night_runs, "_divide", "night noted")
    after(handlers, "night-start", "night divided")
    after(gathers, "night-slice", "slice computed")
    after(handlers, "night-slice", "slice stored")
    after(weather_news, "_tell_batch", "some of the news told")
    after(gathers, "night-news", "all of the news told")
    after(handlers, "night-news", "the news counted")


def mark_steps_of_looks() -> None:
    from properties.services import jobs
    from scheduling.services import reminder_looks

    after(reminder_looks, "_keep_and_tell", "one kind of reminders told")
    after(reminder_looks, "_look_at_gardens", "some gardens looked at")
    after(jobs._GATHERS, "reminders", "all reminders told")
    after(jobs._HANDLERS, "reminders", "the look counted")


def queue_and_come(act: Callable[..., int], drafts: list[Any], now: Any) -> int:
    queued = act(drafts, now)
    come_to(f"some {drafts[0].kind} notices queued")
    return queued


def before(place: Any, name: str, step: str) -> None:
    wrap(place, name, lambda act, *a, **k: (come_to(step), act(*a, **k))[1])


def after(place: Any, name: str, step: str) -> None:
    def around(act: Callable[..., Any], *arguments: Any, **words: Any) -> Any:
        done = act(*arguments, **words)
        come_to(step)
        return done

    wrap(place, name, around)


def wrap(place: Any, name: str, around: Callable[..., Any]) -> None:
    """Put something around a function, be it of a module, a class or a registry."""
    is_registry = isinstance(place, dict)
    act = place[name] if is_registry else getattr(place, name)

    def wrapped(*arguments: Any, **words: Any) -> Any:
        return around(act, *arguments, **words)

    if is_registry:
        place[name] = wrapped
    else:
        setattr(place, name, wrapped)


def come_to(step: str) -> None:
    """Die at the step, or stay until somebody says go; the first who comes, and no other."""
    dies = step in os.environ.get("FAULTS_DIES", "").split("|")
    if not dies and step != os.environ.get("FAULTS_STAYS"):
        return
    folder = Path(os.environ["FAULTS_FOLDER"])
    try:
        (folder / f"came {step}").touch(exist_ok=False)
    except FileExistsError:
        return
    if dies:
        os.kill(os.getpid(), signal.SIGKILL)
    stay(folder)


def stay(folder: Path) -> None:
    until = time.monotonic() + LONGEST_HOLD_S
    while not (folder / "go").exists() and time.monotonic() < until:
        time.sleep(0.02)
    (folder / "went-on").touch()
