from audits.models.catch_tests import CatchTest, CupReading
from audits.models.findings import Finding, RepairTicket, TicketState
from audits.models.program_settings import (
    ProgramSetting,
    SettingProgram,
    SettingRun,
    SettingSource,
)
from audits.models.visits import Visit, VisitKind, VisitState

__all__ = [
    "CatchTest",
    "CupReading",
    "Finding",
    "ProgramSetting",
    "RepairTicket",
    "SettingProgram",
    "SettingRun",
    "SettingSource",
    "TicketState",
    "Visit",
    "VisitKind",
    "VisitState",
]
