"""Wiring of this app at start-up."""

from __future__ import annotations

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    name = "scheduling"

    def ready(self) -> None:
        from audits.signals import ruling_test_changed, visit_finished
        from properties.services.erasure import register_eraser
        from properties.services.jobs import register_handler
        from properties.services.ticks import register_tick
        from scheduling.receivers import ask_for_plans
        from scheduling.services import (
            calibrations,
            controller_programs,
            erasure,
            forecasts,
            job_kinds,
            monthly_notices,
            night_runs,
            observations,
            plans,
            reminder_looks,
            replays,
            weather_files,
            weather_news,
        )

        visit_finished.connect(ask_for_plans, dispatch_uid="plans after visit")
        ruling_test_changed.connect(ask_for_plans, dispatch_uid="plans after late test")
        register_eraser(erasure.erase_messages)
        register_handler(job_kinds.PLANS_AFTER_VISIT, plans.store_plans_after_visit)
        register_handler(job_kinds.PLANS_OF_PROPERTY, plans.store_plans_of_property)
        register_handler(job_kinds.CALIBRATE_STATION, calibrations.calibrate_station_by_id)
        register_handler(job_kinds.REFIT_STATION, calibrations.refit_station_by_id)
        register_handler(
            job_kinds.FORECAST, forecasts.store_download_of, gather=forecasts.download_of
        )
        register_handler(
            job_kinds.OBSERVATIONS,
            observations.store_download_of,
            gather=observations.download_of,
        )
        for kind, gather in controller_programs.FITS.items():
            register_handler(kind, controller_programs.store_fits, gather=gather)
        register_tick("start of the night", night_runs.start_night_when_due)
        register_tick("monthly notices", monthly_notices.ask_for_monthly_notices)
        register_tick("slices given up", night_runs.end_given_up_slices)
        register_handler(
            job_kinds.NIGHT_START, night_runs.start_night, gather=night_runs.read_new_plans
        )
        register_handler(
            job_kinds.NIGHT_AGAIN, night_runs.divide_run, gather=night_runs.read_new_plans
        )
        register_handler(
            job_kinds.NIGHT_SLICE, night_runs.store_slice, gather=night_runs.look_at_slice
        )
        register_handler(
            job_kinds.MONTHLY_NOTICES,
            monthly_notices.count_monthly_notices,
            gather=monthly_notices.make_monthly_notices,
        )
        register_handler(
            job_kinds.NIGHT_NEWS, weather_news.count_news, gather=weather_news.tell_news
        )
        register_tick("reminders", reminder_looks.ask_for_reminders)
        register_handler(
            job_kinds.REMINDERS,
            reminder_looks.end_look,
            gather=reminder_looks.look_for_reminders,
        )
        register_handler(job_kinds.WEATHER_FILE, weather_files.read_weather_file)
        register_handler(job_kinds.REPLAY, replays.store_answer, gather=replays.gather_answer)
