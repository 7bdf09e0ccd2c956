"""Builds the old records of an invented club, Quillbrook, with every untidiness that real lists have.

Run it to write tests/data again: python -m tests.make_messy_workbook. The same every time. Forty children, four past
test days; what is wrong on purpose stands beside each line.
"""

from __future__ import annotations

import csv
import io
import random
from datetime import date, datetime, time
from pathlib import Path

import openpyxl

FOLDER = Path(__file__).parent / "data"
WORKBOOK, OLD_LIST, LONG_LIST = "quillbrook.xlsx", "quillbrook_old_list.csv", "quillbrook_winter.csv"

#: first name, last name, date of birth, group. The first 34 are kept without a fault.
CHILDREN: tuple[tuple[str, str, date, str], ...] = tuple(
    (first, last, date.fromisoformat(born), group)
    for first, last, born, group in (
        ("Zoë", "Hartley", "2019-03-04", "Otters"),
        ("Émile", "Garnier", "2019-11-25", "Otters"),
        ("Łucja", "Wiśniak", "2020-01-17", "Otters"),
        ("Noor", "van Dijk", "2019-07-30", "Otters"),
        ("Niamh", "O'Brien", "2020-05-06", "Otters"),
        ("Ana Lucía", "de la Cruz", "2019-09-12", "Otters"),
        ("Søren", "Ækjær", "2020-02-29", "Otters"),
        ("Mia", "Thorn", "2019-12-03", "Otters"),
        ("Mia", "Thorn", "2018-04-21", "Herons"),  # two children of one name
        ("Anne-Marie", "Loft", "2018-08-15", "Herons"),
        ("Oskar", "Lind", "2018-10-02", "Herons"),
        ("Priya", "Raman", "2018-06-19", "Herons"),
        ("Teodor", "Novák", "2017-12-24", "Herons"),
        ("Ines", "Abreu", "2018-02-14", "Herons"),
        ("Freya", "Nilsen", "2018-09-09", "Herons"),
        ("Hugo", "Park", "2018-01-31", "Herons"),
        ("Maja", "Berg", "2018-05-05", "Herons"),
        ("Leo", "Castell", "2017-11-11", "Herons"),
        ("Ruby", "Quayle", "2017-03-27", "Kestrels"),
        ("Sami", "Haddad", "2017-08-08", "Kestrels"),
        ("Ivy", "Marsh", "2016-10-30", "Kestrels"),
        ("Jonas", "Ek", "2017-01-19", "Kestrels"),
        ("Clara", "Weiss", "2017-06-02", "Kestrels"),
        ("Tomás", "Rivas", "2016-12-12", "Kestrels"),
        ("Wren", "Ashby", "2017-04-16", "Kestrels"),
        ("Elif", "Kaya", "2017-09-28", "Kestrels"),
        ("Nora", "Finch", "2021-02-03", "Wrens"),
        ("Pip", "Sandell", "2021-05-20", "Wrens"),
        ("Ada", "Brooke", "2020-12-07", "Wrens"),
        ("Finn", "Oakes", "2021-07-13", "Wrens"),
        ("Lotte", "de Boer", "2021-03-22", "Wrens"),
        ("Kai", "Mori", "2020-11-18", "Wrens"),
        ("Esme", "Vale", "2021-06-01", "Wrens"),
        ("Otis", "Grant", "2021-01-26", "Wrens"),
        ("Bea", "Holm", "2019-04-08", "Otters"),  # date of birth missing
        ("Rafa", "Soto", "2018-03-16", "Herons"),  # year 1918
        ("Signe", "Dahl", "2017-05-14", "Kestrels"),  # date worked out by a formula
        ("Theo", "Lam", "2020-10-10", "Wrens"),  # address without an @
        ("Uma", "Bell", "2019-08-27", "Otters"),  # listed in two groups
        ("Vik", "Stone", "2018-12-01", "Herons"),  # the 31st of February
    )
)
_HEADERS = (
    "GROUP",
    "Surname",
    "first NAME",
    "Sex",
    "D.O.B.",
    "Weight (kg)",
    "Parent's e-mail",
    "T-shirt",
    "Guardian",
)


def _email(first: str, last: str, number: int) -> str:
    return f"family{number:02d}@quillbrook.example"


def roster_rows() -> list[list[object]]:
    """The sheet 'Members': a title, odd headers, dates of every kind, blank lines, repeats and slips."""
    rows: list[list[object]] = [["Quillbrook Gym Club, members"], [], list(_HEADERS)]
    ways = (
        lambda born: datetime.combine(born, time()),  # a date as the spreadsheet keeps it
        lambda born: f"{born.day}/{born.month}/{born.year}",
        lambda born: born.isoformat(),
        lambda born: f"{born.day} {born:%B} {born.year}",
        lambda born: (born - date(1899, 12, 30)).days,  # its number
        lambda born: f"{born.day:02d}.{born.month:02d}.{born.year % 100:02d}",
    )
    for number, (first, last, born, group) in enumerate(CHILDREN, 1):
        sex, weight = "FM"[number % 2], 18 + number % 9
        line: list[object] = [
            group,
            last,
            first,
            sex,
            ways[number % 6](born),
            weight,
            _email(first, last, number),
            "5-6",
            "",
        ]
        rows.append(line)
        if number in (10, 25):
            rows.append([])
        if number == 20:
            rows.append(list(_HEADERS))  # two lists pasted together
    by_name = {(row[1], row[2]): row for row in rows if len(row) == len(_HEADERS)}
    by_name["Holm", "Bea"][4] = None
    by_name["Soto", "Rafa"][4] = "16/3/1918"
    by_name["Dahl", "Signe"][4] = "=DATE(2017,5,14)"
    by_name["Lam", "Theo"][6] = "family38 at quillbrook"
    by_name["Stone", "Vik"][4] = "31/2/2018"
    by_name["Hartley", "Zoë"][8] = "Ruth Hartley"
    rows.append(list(by_name["Lind", "Oskar"]))  # the same line twice
    rows.append(
        ["Otters", "Hartly", "Zoe", "F", "2019-03-04", 21, None, None, None]
    )  # the same child spelt another way
    rows.append(["Herons", "Bell", "Uma", "F", datetime(2019, 8, 27), 20, None, None, None])
    rows.append([None, None, "Total 40"])
    return rows


def _value(low: int, high: int, random_: random.Random) -> int:
    return random_.randint(low, high)


def spring_rows() -> list[list[object]]:
    """15 March 2025: last name first, left and right after the measure, one line a child."""
    seeded = random.Random(1503)
    rows: list[list[object]] = [
        [
            "Child",
            "Hollow hold (s)",
            "One-leg stand L",
            "One-leg stand R",
            "Long jump cm",
            "Landings",
            "Comments",
        ]
    ]
    for first, last, _, group in CHILDREN[:26]:
        name = f"{last}, {first}"
        row: list[object] = [name, _value(8, 40, seeded), _value(3, 25, seeded), _value(3, 25, seeded)]
        rows.append(
            [
                *row,
                _value(70, 125, seeded),
                f"{_value(1, 5, seeded)}/5",
                "tired" if group == "Otters" else None,
            ]
        )
    del rows[8:10]  # the two children of one name had no line of their own that day
    rows[1][1] = "60+"
    rows[2][1] = "tried, could not"
    rows[3][2:4] = [None, None]
    rows[4][1] = "42,5"
    rows[5][4] = "1.05 m"
    rows[6][5] = 0  # none of five: a result, not a blank
    rows.insert(6, [])
    return rows


def summer_rows() -> list[list[object]]:
    """14 June 2025: names apart, sides before the measure, tries numbered, columns nobody knows."""
    seeded = random.Random(1406)
    rows: list[list[object]] = [
        [
            "First name",
            "Surname",
            "Born",
            "Weight",
            "L one-leg stand",
            "Right one leg stand",
            "hollow 1",
            "HOLLOW 2",
            "Push-ups from knees",
            "Splits",
            "Beam L",
        ]
    ]
    for first, last, born, _ in CHILDREN[:30]:
        row: list[object] = [
            first,
            last,
            datetime.combine(born, time()),
            20,
            _value(4, 28, seeded),
            _value(4, 28, seeded),
        ]
        rows.append(
            [
                *row,
                _value(10, 45, seeded),
                _value(10, 45, seeded),
                _value(2, 18, seeded),
                "yes",
                _value(5, 20, seeded),
            ]
        )
    rows[1][6] = "wobbly"  # text where a number belongs
    rows[2][7] = 600  # a typing error
    rows[3][8] = "couldn't"
    rows[4][4] = "30+"
    rows[5][6] = time(0, 45)  # 0:45, which the spreadsheet took for a time of day
    rows[6][7] = 75  # past the cap
    rows[7][6] = "25+"
    rows[10][6] = "=G9+1"
    rows.append(["Average", "", None, None, 16, 15, 25, 26, 9])
    return rows


def autumn_rows() -> list[list[object]]:
    """11 October 2025: one line a result."""
    seeded = random.Random(1110)
    rows: list[list[object]] = [["Date", "Gymnast", "Test", "Side", "Try", "Result"]]
    day = datetime(2025, 10, 11)
    for first, last, _, group in CHILDREN[:34]:
        if (first, last) == ("Mia", "Thorn"):
            continue
        name = f"{first} {last}"
        rows.append([day, name, "Hollow body hold", None, 1, _value(12, 50, seeded)])
        rows.append([day, name, "Single leg stance", "left", None, _value(4, 29, seeded)])
        rows.append([day, name, "Single leg stance", "R", None, _value(4, 29, seeded)])
        if group != "Wrens":
            rows.append([day, name, "SLJ", None, 1, _value(70, 130, seeded)])
            rows.append([day, name, "SLJ", None, 2, _value(70, 130, seeded)])
    rows[4][5] = 195  # unusual, kept
    rows.append([day, "Zoe Hartley", "Landings", None, None, 4])  # without her accent
    rows.append([day, "Hugo P.", "Landings", None, None, "3 out of 5"])
    rows.append([day, "Freja Nilsen", "Landings", None, None, 5])  # a slip in the name
    rows.append([day, "Mia Thorn", "Landings", None, None, 5])  # which one?
    rows.append([day, "Oskar Lind", "Cartwheel", None, None, 3])
    return rows


def winter_rows() -> list[list[object]]:
    """11 February 2026, written 11.2.2026: bare noughts, absences, a child on two lines."""
    seeded = random.Random(1102)
    rows: list[list[object]] = [
        ["Name", "Group", "Hollow hold tucked", "Bent arm hang", "Side plank left", "Side plank right"]
    ]
    for first, last, _, group in CHILDREN[8:34]:
        row: list[object] = [f"{first} {last}", group.upper(), _value(15, 55, seeded), _value(1, 15, seeded)]
        rows.append([*row, _value(5, 25, seeded), _value(5, 25, seeded)])
    rows[2][3] = 0
    rows[3][3] = "0"
    rows[4][3] = "0 could not"
    rows[5][2:6] = ["absent"] * 4
    rows[6][3] = "20+"
    rows[7][4] = "sore"
    rows.append([*rows[8][:3], 19, *rows[8][4:]])  # the same child again, one value changed
    return rows


SHEETS = {
    "Members": roster_rows,
    "2025-03-15": spring_rows,
    "Test 14 June 2025": summer_rows,
    "Autumn": autumn_rows,
    "11.2.2026": winter_rows,
}


def workbook() -> bytes:
    """The workbook: the members and four test days."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in SHEETS.items():
        sheet = book.create_sheet(name)
        for row in rows():
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def old_list() -> bytes:
    """An older list of the same club: one column for the name, semicolons, Windows letters."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";", lineterminator="\r\n")
    writer.writerow(["Name of child", "Date of birth (dd/mm/yyyy)", "Class", "Medical notes"])
    for first, last, born, group in CHILDREN[:12]:
        name = f"{last}, {first}".replace("Łucja", "Lucja").replace(
            "ś", "s"
        )  # Windows letters end at the Oder
        writer.writerow([name, f"{born:%d/%m/%Y}", group, "none"])
    return out.getvalue().encode("cp1252")


def long_list() -> bytes:
    """The winter day once more as a text file with tabs, half of it: the same results, nothing new."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter="\t", lineterminator="\n")
    writer.writerow(["date", "name", "measure", "variant", "value"])
    for row in winter_rows()[10:20]:
        writer.writerow(["2026-02-11", row[0], "hollow_hold", "tucked", row[2]])
    return out.getvalue().encode("utf-8-sig")


def files() -> dict[str, bytes]:
    """Every file by name."""
    return {WORKBOOK: workbook(), OLD_LIST: old_list(), LONG_LIST: long_list()}


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, content in files().items():
        (FOLDER / name).write_bytes(content)
