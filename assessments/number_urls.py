"""Addresses of the shape guide, and of the numbers behind what the app says."""

from __future__ import annotations

from django.urls import URLPattern, path

from assessments.views import blocks, calibration, numbers, shapes

urlpatterns: list[URLPattern] = [
    path("shapes/", shapes.shape_guide, name="shape_guide"),
    path("shapes/wall/", shapes.shape_wall, name="shape_wall"),
    path("shapes/<slug:slug>/", shapes.shape, name="shape"),
    path("numbers/", numbers.numbers, name="numbers"),
    path("numbers/error/", numbers.numbers_error, name="numbers_error"),
    path("numbers/error/draft/", numbers.numbers_error_draft, name="numbers_error_draft"),
    path("numbers/agreement/", numbers.numbers_agreement, name="numbers_agreement"),
    path("numbers/calibration/", calibration.calibration_list, name="calibration_list"),
    path("numbers/calibration/examples/", calibration.examples_add, name="examples_add"),
    path("numbers/calibration/examples/<uuid:code>/", calibration.examples_score, name="examples_score"),
    path(
        "numbers/calibration/examples/<uuid:code>/remove/",
        calibration.examples_remove,
        name="examples_remove",
    ),
    path("numbers/calibration/<uuid:code>/", calibration.calibration, name="calibration"),
    path(
        "numbers/calibration/<uuid:code>/decide/", calibration.calibration_decide, name="calibration_decide"
    ),
    path("numbers/outcomes/", numbers.numbers_outcomes, name="numbers_outcomes"),
    path("numbers/norms/", numbers.numbers_norms, name="numbers_norms"),
    path("numbers/norms/draft/", numbers.numbers_norms_draft, name="numbers_norms_draft"),
    path("numbers/reference/", numbers.numbers_reference, name="numbers_reference"),
    path("numbers/forecasts/", numbers.numbers_forecasts, name="numbers_forecasts"),
    path("groups/<uuid:code>/block/", blocks.block_plan, name="block_plan"),
    path("children/<uuid:code>/block/", blocks.child_block_plan, name="child_block_plan"),
    path("children/<uuid:code>/skills/<slug:slug>/forecast/", blocks.skill_forecast, name="skill_forecast"),
    path("days/<uuid:code>/rotation/", blocks.day_rotation, name="day_rotation"),
]
