"""Steps at which a worker process kills itself, once for each step that the environment names."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.apps import AppConfig


class FaultsConfig(AppConfig):
    name = "tests.reports.faults"

    def ready(self) -> None:
        from django.core.mail import EmailMultiAlternatives

        from properties.services import jobs

        handlers, gathers = jobs._HANDLERS, jobs._GATHERS
        dies_after(jobs, "claim", "claimed")
        dies_after(gathers, "notice-sheet", "sheet rendered")
        dies_after(handlers, "notice-sheet", "sheet stored")
        dies_before(EmailMultiAlternatives, "send", "before sending")
        dies_after(EmailMultiAlternatives, "send", "after sending")
        dies_before(handlers, "deliver-notice", "before the mark")
        dies_after(handlers, "deliver-notice", "after the mark")
        dies_after(gathers, "night-slice", "slice computed")
        dies_after(handlers, "night-slice", "slice stored")


def dies_before(place: Any, name: str, step: str) -> None:
    wrap(place, name, lambda act, *a, **k: (die_at(step), act(*a, **k))[1])


def dies_after(place: Any, name: str, step: str) -> None:
    def after(act: Callable[..., Any], *arguments: Any, **words: Any) -> Any:
        done = act(*arguments, **words)
        die_at(step)
        return done

    wrap(place, name, after)


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


def die_at(step: str) -> None:
    if os.environ.get("FAULTS_STEP") != step:
        return
    mark = Path(os.environ["FAULTS_FOLDER"]) / step.replace(" ", "-")
    try:
        mark.touch(exist_ok=False)
    except FileExistsError:
        return
    os.kill(os.getpid(), signal.SIGKILL)
