"""A folder of published values is read whole or refused with the file, the line and the reason."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assessments.analysis import read_reference
from assessments.analysis.reference_file import ReferenceProblem

SHIPPED = Path(__file__).parents[2] / "assessments" / "reference_data" / "us_survey_2012_plank"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SHIPPED, tmp_path / "plank"))


def change(path: Path, before: str, after: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert before in text
    path.write_text(text.replace(before, after, 1), encoding="utf-8")


def test_a_reference_says_where_it_comes_from() -> None:
    found = read_reference(SHIPPED)
    assert (found.id, found.measure, found.unit, found.edition) == (
        "us_survey_2012_plank",
        "forearm_plank_hold",
        "s",
        "2012",
    )
    for words in (
        found.source,
        found.population,
        found.protocol,
        found.difference,
        found.terms,
        found.method,
    ):
        assert len(words) > 30
    assert "public domain" in found.terms
    assert len(found.caveats) >= 4


def test_a_reference_holds_both_kinds_of_table_for_all_children() -> None:
    found = read_reference(SHIPPED)
    assert set(found.lms) == set(found.percentiles) == {"all", "boys", "girls"}
    assert [(band.age_from, band.age_to) for band in found.percentiles["all"].bands][:2] == [(3, 4), (5, 6)]


def test_a_value_is_placed_among_all_children() -> None:
    found = read_reference(SHIPPED)
    placed = found.place(49.18, 8.0)
    assert (placed.where, round(placed.centile or 0)) == ("at", 50)
    assert found.place(49.18, 8.0, at_least=True).where == "at_least"
    assert found.place(49.18, 2.9).where == "outside_ages"


def test_under_five_comes_with_a_caution() -> None:
    found = read_reference(SHIPPED)
    assert "for interest only" in found.caution(4.9)
    assert found.caution(5.0) == ""


def test_percentiles_answer_where_there_is_no_smooth_table(folder: Path) -> None:
    change(folder / "source.toml", 'lms = "lms.csv"', "")
    found = read_reference(folder)
    assert found.lms == {}
    assert found.place(31.9, 6.0).where == "at"


@pytest.mark.parametrize(
    ("file", "before", "after", "reason"),
    [
        ("source.toml", 'unit = "s"', "", "does not say: unit"),
        ("source.toml", 'unit = "s"', 'unit = " "', "does not say: unit"),
        ("source.toml", 'unit = "s"', "unit = ", "cannot be read"),
        ("source.toml", 'lms = "lms.csv"', 'lms = "none.csv"', "none.csv cannot be read"),
        ("lms.csv", "all,4.0,0.4138", "all,4.0,x", "lms.csv, line 3: 'x' in column 'L' is not a number"),
        ("lms.csv", "all,4.0,0.4138", "all,4.0,", "lms.csv, line 3: nothing in column 'L'"),
        ("lms.csv", "all,4.0,", "all,3.5,", "rows for 'all': Ages and percentiles"),
        ("lms.csv", "all,4.0,0.4138,11.96", "all,4.0,0.4138,0", "rows for 'all': L, M and S"),
        (
            "percentiles_by_band.csv",
            "all,5,6,222,2.4",
            "all,5,6,222,99",
            "rows for 'all': Percentiles of the band",
        ),
        ("percentiles_by_band.csv", "all,5,6", "all,6,6", "does not follow the one before"),
        (
            "percentiles_by_band.csv",
            "children,age_from",
            "who,age_from",
            "line 2: nothing in column 'children'",
        ),
    ],
)
def test_a_folder_with_a_defect_is_refused(
    folder: Path, file: str, before: str, after: str, reason: str
) -> None:
    assert read_reference(folder).id  # it is whole before
    change(folder / file, before, after)
    with pytest.raises(ReferenceProblem, match=reason):
        read_reference(folder)


def test_a_value_at_a_percentile_is_none_where_a_table_says_nothing(folder: Path) -> None:
    """The middle of the printed row of five and six is that of its own age; the smooth table begins at 3.5 years."""
    both = read_reference(folder)
    assert both.value(50, 8.0) == pytest.approx(49.18, abs=0.5)
    assert (both.value(50, 3.0), both.value(50, 17.0)) == (None, None)
    change(folder / "source.toml", 'lms = "lms.csv"', "")
    printed = read_reference(folder)
    assert (
        printed.value(50, 6.0)
        == printed.percentiles["all"].at(6.0)[printed.percentiles["all"].percents.index(50)]
    )
    assert (printed.value(50, 2.0), printed.value(1, 6.0)) == (None, None)


def test_a_folder_without_all_children_together_is_refused(folder: Path) -> None:
    for file in ("lms.csv", "percentiles_by_band.csv"):
        path = folder / file
        kept = [line for line in path.read_text().splitlines() if not line.startswith("all,")]
        path.write_text("\n".join(kept) + "\n")
    with pytest.raises(ReferenceProblem, match="no rows for 'all'"):
        read_reference(folder)


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ReferenceProblem, match="cannot be read"):
        read_reference(tmp_path / "nothing")


def test_every_folder_that_ships_can_be_read() -> None:
    folders = [path for path in SHIPPED.parent.iterdir() if path.is_dir()]
    assert [read_reference(path).id for path in folders] == [path.name for path in folders]


def test_under_its_age_a_table_is_for_interest_only() -> None:
    found = read_reference(SHIPPED)
    line = found.interest_only_under
    assert line > 0
    assert found.caution(line) == ""
    assert found.caution(line - 0.01) == (
        f"Under {line:g} years these values are for interest only: few children, and not all had a score."
    )


def test_one_row_makes_a_table(folder: Path) -> None:
    path = next(folder.glob("*percentile*.csv"))
    head, *rows = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([head, rows[0]]) + "\n", encoding="utf-8")
    whole, one = read_reference(SHIPPED).percentiles, read_reference(folder).percentiles
    assert [table.bands for table in one.values()] == [whole[group].bands[:1] for group in one]
