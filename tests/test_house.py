"""The house rules that a machine can check: who imports whom, sizes, guarded views, visibility, words."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest
from django.urls import URLPattern, URLResolver, get_resolver

ROOT = Path(__file__).resolve().parent.parent
APPS = ("club", "athletes", "assessments")
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "LICENSE", "manage.py", "pyproject.toml",
    "club", "athletes", "assessments", "templates", "tests",
}  # fmt: skip

#: Layers by path, most specific first. A file may import from its own layer and from lower ones.
LAYERS: tuple[tuple[str, int], ...] = (
    ("athletes/ages.py", 0), ("athletes/roster_file.py", 0), ("athletes/sheet_file.py", 0),
    ("athletes/person_", 0), ("athletes/written_dates.py", 0), ("athletes/known_children.py", 0),
    ("assessments/analysis/", 0), ("assessments/charts.py", 0), ("assessments/results_", 0),
    ("assessments/result_columns.py", 0), ("assessments/written_results.py", 0),
    ("assessments/programme_", 0), ("assessments/skill_map.py", 0), ("assessments/family_words.py", 0),
    ("assessments/entries.py", 0), ("assessments/progress_words.py", 0), ("assessments/sparks.py", 0),
    ("assessments/skill_words.py", 0), ("assessments/family_bank.py", 0),
    ("assessments/family_text.py", 0),
    ("assessments/entry_rules.py", 0), ("club/figures/", 0), ("club/demo/story", 0),
    ("club/models.py", 1), ("club/access.py", 1), ("club/audit.py", 1), ("club/http.py", 1),
    ("club/invitations.py", 1),
    ("athletes/models.py", 2),
    ("assessments/models/", 3),
    ("athletes/roster.py", 4), ("athletes/privacy.py", 4),
    ("assessments/views/", 5), ("assessments/management/", 5), ("assessments/forms", 5),
    ("assessments/urls.py", 5), ("assessments/templatetags/", 5),
    ("athletes/", 5), ("club/", 5),
    ("assessments/", 4),
)  # fmt: skip
FREE = ("migrations/", "__init__.py", "apps.py", "settings.py", "wsgi.py")


def sources() -> list[Path]:
    return [p for app in APPS for p in sorted((ROOT / app).rglob("*.py")) if "migrations" not in p.parts]


def layer_of(path: str) -> int | None:
    if path.endswith(FREE) and not path.startswith("assessments/analysis/"):
        return None
    if re.search(r"(^|/|_)(urls|forms|admin)\.py$", path):
        return 5
    return next((layer for start, layer in LAYERS if path.startswith(start)), None)


def module_path(name: str) -> str | None:
    """Path of one of our modules, from its dotted name."""
    if name.split(".")[0] not in APPS:
        return None
    base = ROOT / name.replace(".", "/")
    for found in (base.with_suffix(".py"), base / "__init__.py"):
        if found.exists():
            return found.relative_to(ROOT).as_posix()
    return None


def imports_of(path: Path) -> set[str]:
    """Dotted names that a file imports anywhere, type-checking blocks left out."""
    tree = ast.parse(path.read_text())
    skipped = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        for inner in ast.walk(node)
    }
    found: set[str] = set()
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def test_nobody_imports_upwards():
    wrong = []
    for path in sources():
        own = layer_of(rel := path.relative_to(ROOT).as_posix())
        if own is None:
            continue
        for name in imports_of(path):
            target = module_path(name)
            other = layer_of(target) if target else None
            if other is not None and other > own:
                wrong.append(f"{rel} (layer {own}) imports {target} (layer {other})")
    assert not wrong, "\n".join(sorted(set(wrong)))


def test_pure_files_know_no_django_and_no_clock():
    wrong = []
    for path in sources():
        rel = path.relative_to(ROOT).as_posix()
        if layer_of(rel) != 0:
            continue
        names = imports_of(path)
        if any(n.split(".")[0] == "django" for n in names):
            wrong.append(f"{rel} imports Django")
        text = path.read_text()
        if re.search(r"\b(date\.today|datetime\.now|time\.time|random\.random)\(", text):
            wrong.append(f"{rel} reads a clock or an unseeded chance")
    assert not wrong, "\n".join(wrong)


def test_athletes_never_imports_assessments():
    wrong = [
        p.relative_to(ROOT).as_posix()
        for p in (ROOT / "athletes").rglob("*.py")
        if any(n.split(".")[0] == "assessments" for n in imports_of(p))
    ]
    assert not wrong


def test_views_never_import_another_apps_views():
    wrong = []
    for path in sources():
        rel = path.relative_to(ROOT).as_posix()
        if "/views/" not in rel:
            continue
        own = rel.split("/")[0]
        wrong += [
            f"{rel} imports {name}"
            for name in imports_of(path)
            if ".views" in name and name.split(".")[0] in APPS and name.split(".")[0] != own
        ]
    assert not wrong, "\n".join(wrong)


def test_heavy_libraries_stay_where_they_belong():
    allowed = {
        "pandas": ("assessments/analysis/", "assessments/frames.py"),
        "plotly": ("assessments/charts.py",),
        "openpyxl": ("athletes/sheet_file.py", "assessments/results_file.py"),
    }
    wrong = []
    for path in sources():
        rel = path.relative_to(ROOT).as_posix()
        for name in imports_of(path):
            top = name.split(".")[0]
            if top in allowed and not rel.startswith(allowed[top]):
                wrong.append(f"{rel} imports {top}")
    assert not wrong, "\n".join(wrong)


def test_starting_up_imports_no_heavy_library():
    code = (
        "import django, sys; django.setup(); import club.urls;"
        "print(sorted(m for m in ('scipy', 'plotly', 'openpyxl', 'statsmodels', 'segno') if m in sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT, capture_output=True, text=True, check=False,
        env={"DJANGO_SETTINGS_MODULE": "club.settings", "GROUNDWORK_LOCAL": "yes", "PATH": "/usr/bin:/bin"},
    )  # fmt: skip
    assert done.stdout.strip() == "[]", done.stdout + done.stderr


def test_every_docstring_stands_and_nothing_looks_like_a_test():
    wrong = []
    for path in sources():
        rel = path.relative_to(ROOT).as_posix()
        if rel.split("/")[-1].startswith("test"):
            wrong.append(f"{rel} is named like a test")
        tree = ast.parse(path.read_text())
        if path.stat().st_size and not ast.get_docstring(tree):
            wrong.append(f"{rel} has no docstring")
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and node.name.lower().startswith("test"):
                wrong.append(f"{rel}: {node.name} would be collected as a test")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    ("pattern", "limit"),
    [
        ("club/**/*.py", 400), ("athletes/**/*.py", 400), ("assessments/**/*.py", 400),
        ("templates/**/*.html", 130), ("tests/**/*.py", 350), ("club/static/**/*.js", 400),
        ("assessments/static/**/*.js", 400), ("club/static/club/groundwork.css", 900),
    ],
)  # fmt: skip
def test_files_stay_small(pattern, limit):
    long = [
        f"{p.relative_to(ROOT)}: {n}"
        for p in ROOT.glob(pattern)
        if "migrations" not in p.parts and (n := len(p.read_text().splitlines())) > limit
    ]
    assert not long, "\n".join(long)


def test_functions_stay_under_sixty_lines():
    long = []
    for path in sources():
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.FunctionDef) and (node.end_lineno or 0) - node.lineno + 1 > 60:
                long.append(f"{path.relative_to(ROOT)}:{node.name}")
    assert not long, "\n".join(long)


def views(resolver: URLResolver | None = None, space: str = "") -> list[tuple[str, URLPattern]]:
    """Every named address with its pattern."""
    found: list[tuple[str, URLPattern]] = []
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            inner = f"{space}{entry.namespace}:" if entry.namespace else space
            found += views(entry, inner)
        else:
            found.append((f"{space}{entry.name}", entry))
    return found


def test_every_view_is_guarded_and_named_after_its_address():
    wrong = []
    for name, pattern in views():
        view = pattern.callback
        shown = getattr(view, "view_class", view)
        if getattr(view, "guard", getattr(shown, "guard", None)) is None:
            wrong.append(f"{name} has no guard")
        own = getattr(view, "__name__", "")
        if not hasattr(view, "view_class") and own != name.split(":")[-1]:
            wrong.append(f"{name} is served by {own}")
    assert not wrong, "\n".join(wrong)


def test_templates_hold_no_inline_script_or_style():
    wrong = []
    for path in (ROOT / "templates").rglob("*.html"):
        for number, line in enumerate(path.read_text().splitlines(), 1):
            if re.search(r"<script>|\sstyle=\"|\son(click|change|submit|input|load)=|<style", line):
                wrong.append(f"{path.relative_to(ROOT)}:{number}")
    assert not wrong, "\n".join(wrong)


FORBIDDEN = re.compile(
    r"\b(fail(s|ed|ing|ure)?|weak(er|est|ness)?|poor(ly)?|below average|talent(ed)?|potential)\b", re.I
)


def test_screens_use_kind_words():
    """'Weaker side' is the trade's word in code; on screen a side is 'the side that decides'."""
    wrong = []
    for path in (ROOT / "templates").rglob("*.html"):
        text = re.sub(r"{[%#].*?[%#]}|{{.*?}}|<!--.*?-->", "", path.read_text(), flags=re.S)
        text = re.sub(r"<[^>]+>", " ", text)
        wrong += [f"{path.relative_to(ROOT)}: {m.group(0)}" for m in FORBIDDEN.finditer(text)]
    assert not wrong, "\n".join(wrong)


def test_the_top_level_is_the_agreed_one():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    top = {line.split("/")[0] for line in listed.splitlines()}
    assert {t for t in top if not t.startswith(".")} <= TOP_LEVEL
    assert {p.name for p in ROOT.iterdir()} >= TOP_LEVEL
