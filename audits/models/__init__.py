from audits.domain.ticket_states import TicketState
from audits.domain.visit_checklists import VisitKind
from audits.models.catch_tests import CatchTest, CupReading
from audits.models.emitter_checks import EmitterCheck, EmitterReading
from audits.models.findings import Finding
from audits.models.photos import Photo
from audits.models.plants import PlantSymptom, Treatment, TreatmentKind
from audits.models.program_settings import (
    ProgramSetting,
    SettingProgram,
    SettingRun,
    SettingSource,
)
from audits.models.tickets import LineKind, PriceItem, RepairTicket, TicketLine, TicketProof
from audits.models.visits import Visit, VisitState
from audits.models.water import BucketTest, FlowCheck, MeterReading

__all__ = [
    "BucketTest",
    "CatchTest",
    "CupReading",
    "EmitterCheck",
    "EmitterReading",
    "Finding",
    "FlowCheck",
    "LineKind",
    "MeterReading",
    "Photo",
    "PlantSymptom",
    "PriceItem",
    "ProgramSetting",
    "RepairTicket",
    "SettingProgram",
    "SettingRun",
    "SettingSource",
    "TicketLine",
    "TicketProof",
    "TicketState",
    "Treatment",
    "TreatmentKind",
    "Visit",
    "VisitKind",
    "VisitState",
]
