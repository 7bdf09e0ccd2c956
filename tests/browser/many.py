"""Many entries at once: one tablet with a full outbox, and forty that come back together."""

from __future__ import annotations

import json
import time
import urllib.request
import uuid
from concurrent.futures import ThreadPoolExecutor

from tests.browser.law import until
from tests.browser.tablet import Tablet

_MANY = """async ([number, children]) => {
  const { add } = await import("/static/assessments/outbox.js");
  const made = Array.from({ length: number }, (_, index) => ({
    child: children[index % children.length], measure: "double_heel_raises", variant: "feet_together",
    trial: 1 + Math.floor(index / children.length) % 90, how: "counted", value: index % 20,
  }));
  for (let start = 0; start < number; start += 250) await add(made.slice(start, start + 250));
}"""


def add_many(one: Tablet, number: int) -> list[str]:
    """Entries as if a hand had made them; their ids."""
    children = [str(child.code) for child in one.day.children]
    one.page.evaluate(_MANY, [number, children])
    return sorted(one.states())


def post_many(url: str, one: Tablet, tablet: str, number: int) -> list[str]:
    """One more tablet's batch, as the wire carries it; the ids that were answered as stored."""
    day, children = str(one.day.day.code), [str(child.code) for child in one.day.children]
    entries = [
        {
            "id": str(uuid.uuid4()), "tablet": tablet, "seq": place + 1, "schema": 1, "day": day,
            "child": children[place % len(children)], "measure": "double_heel_raises",
            "variant": "feet_together", "trial": 1, "value": 5, "outcome": "scored", "how": "counted",
            "t_wall": int(time.time() * 1000),
        }
        for place in range(number)
    ]  # fmt: skip
    request = urllib.request.Request(
        f"{url}/days/{day}/sync/",
        data=json.dumps({"tablet": tablet, "entries": entries}).encode(),
        headers={
            "Content-Type": "application/json",
            "X-Groundwork-Protocol": "1",
            "X-Station-Pass": one.day.token,
        },
    )
    with urllib.request.urlopen(request, timeout=120) as answer:
        answers = json.load(answer)["answers"]
    return [each["id"] for each in answers if each["word"] in {"stored", "conflict"}]


def return_together(one: Tablet, url: str, *, others: int = 39, entries: int = 20) -> tuple[list[str], float]:
    """The wifi comes back for `one` and for other tablets at once: the ids of the others' entries, and the seconds
    until nothing waits on `one` any more."""
    began = time.monotonic()
    with ThreadPoolExecutor(others) as hands:
        one.offline(False)
        sent = [hands.submit(post_many, url, one, f"tablet-{number}", entries) for number in range(others)]
        ids = [code for future in sent for code in future.result()]
    until(lambda: "waiting" not in one.states().values(), seconds=300)
    return ids, time.monotonic() - began
