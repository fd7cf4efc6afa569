"""The two ways of saying no."""

from __future__ import annotations

import pytest

from properties.domain.errors import DomainError, InvalidInputError, RefusedError


def test_invalid_input_is_a_value_error_that_says_where_what_and_what_cures_it():
    error = InvalidInputError("That is no depth.", field="depth", remedy="Enter one.")

    assert isinstance(error, ValueError)
    assert isinstance(error, DomainError)
    assert (error.detail, error.field, error.code, error.remedy) == (
        "That is no depth.", "depth", "invalid", "Enter one.",
    )  # fmt: skip
    assert str(error) == "depth: That is no depth. Enter one."


def test_a_refusal_needs_no_field_and_is_no_value_error():
    error = RefusedError("Not now.", code="too-early", remedy="Wait.")

    assert not isinstance(error, ValueError)
    assert error.field == ""
    assert error.code == "too-early"
    assert str(error) == "Not now. Wait."


def test_a_refusal_without_code_or_remedy_cannot_be_made():
    with pytest.raises(TypeError):
        RefusedError("Not now.")
    with pytest.raises(TypeError):
        InvalidInputError("Not so.", field="depth")
