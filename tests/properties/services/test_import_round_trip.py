"""What is exported and imported again changes nothing, whatever stands in the rows."""

from __future__ import annotations

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from properties.domain.spreadsheet_columns import Kind
from properties.domain.spreadsheet_kinds import COLUMNS
from properties.models import Controller, Customer, Property, Zone
from properties.selectors.exports import exported_lines
from properties.services.import_rows import MODELS
from tests import cast
from tests.properties import import_files as files

pytestmark = pytest.mark.django_db
# Fields that no column fills, and why that is right.
OWN = {"id", "created_at", "changed_at", "revision", "entered", "retired_at"}
OF_THE_PRODUCT = {"unsubscribed_at", "refused_address_sha256", "erased_at", "erased_for"}

WORDS = st.text(
    st.characters(codec="utf-8", exclude_characters="\0", exclude_categories=["Cs"]),
    min_size=1, max_size=30,
).filter(str.strip) | st.sampled_from(
    ["=1+1", "+1 555", "-", "@x", "'=x", " padded ", '"quoted", twice', "a\r\nb\rc", "id:x", "-5"]
)  # fmt: skip
ENTERED = st.none() | st.tuples(
    st.floats(1, 5000), st.sampled_from([("ft2", 0.3048**2), ("m2", 1.0)])
)


def round_trip(system):
    before = files.stored()
    for kind in COLUMNS:
        text = b"".join(exported_lines(kind, system=system, with_mark=True))
        sheet = files.look(text, kind)
        assert sheet.state == "looked_at", sheet.report
        assert (files.faults(sheet), sheet.report["changed"], sheet.report["made"]) == ([], 0, 0)
        if sheet.report["rows"]:
            files.write(sheet)
    assert files.stored() == before


@pytest.mark.parametrize("kind", list(COLUMNS))
def test_every_field_of_a_row_goes_out_but_those_of_the_product(kind):
    fields = {field.name for field in MODELS[kind]._meta.concrete_fields}
    columns = {column.row_field for column in COLUMNS[Kind(kind)]}

    assert fields - columns - OWN - OF_THE_PRODUCT == set()
    assert columns <= fields


@pytest.mark.parametrize("system", ["us", "metric"])
def test_a_whole_company_comes_back_unchanged(company, system):
    files.bring_in_all()
    customer = cast.make_customer(
        email="other@x.example", wants_notices=True, consent_note="on paper", units="metric"
    )
    garden = cast.make_property(
        customer, street="9 Elm Street", elevation_m=1071.93, water_price_per_m3="1.2345",
        house_number="-", backflow_tested_on="2026-04-01", static_pressure_kpa=401.7,
    )  # fmt: skip
    cast.make_zone(
        cast.make_controller(garden, can_odd_even=True), exposure="", microclimate_factor=0.8,
        root_depths_mm=[150.0 + month / 3 for month in range(12)], dormant_from="11-15",
        dormant_until="03-01", plant_factors=[0.5 + month / 30 for month in range(12)],
        is_bounded_by_paving=True, planting_date="2026-03-14", is_active=False,
    )  # fmt: skip
    zone = cast.make_zone(Controller.objects.get(property=garden), number=7)
    Zone.objects.filter(pk=zone.pk).update(controller=None)

    round_trip(system)


@settings(
    max_examples=25,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    names=st.lists(WORDS, min_size=4, max_size=4),
    reference=st.from_regex(r"[ -~]{0,10}", fullmatch=True).map(str.strip),
    area=ENTERED,
    factors=st.tuples(st.floats(0.5, 1.3), st.floats(0, 100), st.floats(-90, 90)),
    system=st.sampled_from(["us", "metric"]),
)
def test_whatever_stands_in_the_rows_comes_back_unchanged(
    company, names, reference, area, factors, system
):
    density, slope, latitude = factors
    with transaction.atomic():
        customer = cast.make_customer(name=names[0], email="", reference=reference)
        garden = cast.make_property(
            customer, name=names[1], access_notes=names[2], latitude=latitude
        )
        zone = cast.make_zone(
            cast.make_controller(garden, name=names[3]), density_factor=density,
            slope_percent=slope,
        )  # fmt: skip
        if area is not None:
            value, (unit, factor) = area
            zone.area_m2 = value * factor
            zone.entered = {"area_m2": {"value": value, "unit": unit}}
            zone.save()

        round_trip(system)

        transaction.set_rollback(True)


def test_rows_taken_to_another_installation_keep_their_ids(company):
    files.bring_in_all()
    names = [("controllers", Controller), ("zones", Zone)]
    texts = [
        b"".join(exported_lines(Kind(kind), system="us", with_mark=False)) for kind, _ in names
    ]
    before = files.stored((Customer, Property, Controller, Zone))
    Zone.objects.all().delete()
    Controller.objects.all().delete()

    for (kind, _), text in zip(names, texts, strict=True):
        files.bring_in(text, kind)

    assert files.stored((Customer, Property, Controller, Zone)) == before
