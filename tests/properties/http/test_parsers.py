def test_json_nested_without_end_is_refused_not_crashed(anonymous_api, company):
    answer = anonymous_api.generic(
        "POST", "/api/v1/sign-in", "[" * 100_000, content_type="application/json"
    )

    assert answer.status_code == 400
    assert "nested too deeply" in answer.json()["detail"]
