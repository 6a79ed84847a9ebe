"""What must be true in the end, whatever happened; and proof that each of these checks can fail.

Sources: the promises in the README (nothing acknowledged is lost; each measurement counts once;
every outlet learns the last outcome of every case, in order per case, under an id that stays the
same), the default policy and the keys of outlets as documented.
"""

import collections
import dataclasses
import random
import sqlite3

from shop import FINDINGS

REQUIRED_RUNS = 2  # of the default policy
TODO = {"repeat": "R", "release": "OK", "hold": "H", "refer": "L", "reject": "X"}  # as configured


@dataclasses.dataclass
class Books:
    expected: dict  # measurements by their key
    readings: list
    cases: list
    deliveries: list
    seen: dict  # by outlet, in the order in which it came
    latest: set  # outlets that want only the last outcome
    stopped: list  # (outlet, came when it was stopped, came when it was opened)

    def of(self, cases):
        """The pages of these cases."""
        ids = {case["case"] for case in cases}
        stocks = {case["subject"]["stock_number"] for case in cases}
        return Books(
            {key: m for key, m in self.expected.items() if m.stock in stocks},
            [one for one in self.readings if one["stock_number"] in stocks], cases,
            [one for one in self.deliveries if one["case"] in ids],
            {outlet: [one for one in seen if one.case in ids]
             for outlet, seen in self.seen.items()},
            self.latest, self.stopped)


def check(books):
    yield from check_readings(books.expected, books.readings)
    yield from check_cases(books.expected, books.cases)
    for outlet, seen in books.seen.items():
        deliveries = [one for one in books.deliveries if one["outlet"] == outlet]
        problems = [check_repeats(seen), check_told(deliveries, seen),
                    check_last(outlet, books.cases, seen)]
        if outlet in books.latest:
            problems += [check_latest_in_order(seen), check_latest_states(deliveries, seen)]
        else:
            problems += [check_every_in_order(seen), check_every_state(deliveries, seen)]
        for part in problems:
            yield from (f"{outlet}: {problem}" for problem in part)
    for outlet, before, after in books.stopped:
        if before != after:
            yield f"{outlet}: something came while it was paused"


def check_readings(expected, readings):
    known = collections.defaultdict(list)
    for r in readings:
        value = (r["measured_at"], r["stock_number"], r["finding"], float(r["temperature_c"]))
        known[r["instrument"], r["run"]].append(value)
    for key, measurement in expected.items():
        found = known.pop(key, [])
        if found != [measurement.as_read()]:
            yield (f"reading {key}: {len(found)} times, as {found}; "
                   f"expected once {measurement.as_read()}")
    for key, found in known.items():
        yield f"reading {key}: nobody measured it: {found}"


def check_cases(expected, cases):
    by_stock = collections.defaultdict(list)
    for measurement in expected.values():
        by_stock[measurement.stock].append(measurement)
    known = collections.defaultdict(list)
    for case in cases:
        known[case["subject"]["stock_number"]].append(case)
    for stock in by_stock.keys() | known.keys():
        found = [(c["readings"]["valid"], c["readings"]["void"], c["disposition"],
                  c["reasons"][0]["code"]) for c in known[stock]]
        right = expected_decision(by_stock[stock]) if stock in by_stock else None
        if found != [right]:
            yield f"case of {stock}: {found}, expected {right}"


def expected_decision(measurements):
    """The default policy, as documented, without declaration, scope or ambient limits."""
    findings = [FINDINGS[m.letter] for m in measurements]
    valid = [f for f in findings if f != "void"]
    voids = len(findings) - len(valid)
    if not valid:
        reason = ("repeat", "no_valid_measurement") if voids < 3 else ("hold", "cannot_be_measured")
    elif len(set(valid)) > 1:
        reason = ("refer", "findings_differ")
    elif len(valid) < REQUIRED_RUNS:
        reason = ("repeat", "more_readings_needed")
    else:
        reason = {"natural": ("hold", "scope_unknown"), "simulant": ("reject", "simulant"),
                  "indeterminate": ("refer", "instrument_cannot_tell")}[valid[0]]
    return (len(valid), voids, *reason)


def check_repeats(seen):
    """An outcome may come again: as it came first, under the same id."""
    first = {}
    for one in seen:
        same = first.setdefault(one.id, one)
        if (same.sequence, same.case, same.body) != (one.sequence, one.case, one.body):
            yield f"{one.id}: told in two ways: {same.body!r} and {one.body!r}"
    ids = collections.Counter((one.case, one.sequence) for one in first.values())
    for (case, sequence), count in ids.items():
        if count > 1:
            yield f"outcome {sequence} of case {case} went out under {count} ids"


def first_told(seen):
    """Each outcome when it came first, with the outcomes of its case that were accepted before."""
    told = set()
    accepted = collections.defaultdict(set)
    for one in seen:
        if one.id not in told:
            told.add(one.id)
            yield one, accepted[one.case]
        if one.accepted:
            accepted[one.case].add(one.sequence)


def check_every_in_order(seen):
    for one, accepted in first_told(seen):
        if one.sequence != 1 and one.sequence - 1 not in accepted:
            yield f"{one.id}: came before {one.sequence - 1} of its case was accepted"


def check_latest_in_order(seen):
    for one, accepted in first_told(seen):
        if accepted and one.sequence < max(accepted):
            yield f"{one.id}: came first after {max(accepted)} of its case was accepted"


def check_told(deliveries, seen):
    """What is held for sent was accepted, under the reference that the receiver gave."""
    places = collections.defaultdict(set)
    for one in seen:
        if one.accepted:
            places[one.id].add(one.place)
    for delivery in deliveries:
        if delivery["state"] != "sent":
            continue
        if delivery["id"] not in places:
            yield f"delivery {delivery['id']} is held for sent, and was not accepted"
        elif delivery["reference"] not in places[delivery["id"]]:
            yield f"delivery {delivery['id']} has the reference {delivery['reference']}"
    ids = collections.Counter(one["id"] for one in deliveries)
    for one_id, count in ids.items():
        if count > 1:
            yield f"delivery {one_id} is listed {count} times"
    for one_id in {one.id for one in seen} - ids.keys():
        yield f"delivery {one_id} was told, and the ledger does not know it"


def check_every_state(deliveries, seen):
    for delivery in deliveries:
        if delivery["state"] != "sent":
            yield f"delivery {delivery['id']} is {delivery['state']}: {delivery['note']}"


def check_latest_states(deliveries, seen):
    """Sent; or a later one went in its place: it was skipped, or parked before."""
    last_sent = collections.defaultdict(int)
    for one in deliveries:
        if one["state"] == "sent":
            last_sent[one["case"]] = max(last_sent[one["case"]], one["sequence"])
    for one in deliveries:
        if one["state"] not in ("sent", "skipped", "parked"):
            yield f"delivery {one['id']} is {one['state']}: {one['note']}"
        elif one["sequence"] > last_sent[one["case"]]:
            yield f"delivery {one['id']} is {one['state']}, and no later one was sent"
    skipped = {one["id"] for one in deliveries if one["state"] == "skipped"}
    known = {one["id"] for one in deliveries if one["state"] != "waiting"} - skipped
    silent = known - {one.id for one in seen}
    for one_id in silent:
        yield f"delivery {one_id} was never told, and is not held for skipped"


def check_last(outlet, cases, seen):
    told = {(one.case, one.sequence): one for one in seen if one.accepted}
    for case in cases:
        one = told.get((case["case"], case["sequence"]))
        if one is None:
            yield f"the last outcome {case['sequence']} of {case['case']} never arrived"
        elif one.content != content(outlet, case):
            yield f"the last outcome of {case['case']} is {case}, what was told is {one.body!r}"


def content(outlet, case):
    """What an outlet's body says of an outcome, as configured."""
    one_id = f"{case['case']}-{case['sequence']}"
    item = case["subject"]["stock_number"]
    if outlet == "books":
        return {"id": one_id, "case": case["case"], "number": str(case["sequence"]), "item": item,
                "todo": TODO[case["disposition"]], "decided": case["decided_at"]}
    if outlet == "shelf":
        return {"shop": "quay-street", "id": one_id, "case": case["case"],
                "number": case["sequence"], "item": item,
                "sellable": case["disposition"] == "release",
                "checked": {"at": case["decided_at"], "runs": case["readings"]["valid"]}}
    return case


def check_ledger(path):
    ledger = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    try:
        said = ledger.execute("PRAGMA integrity_check").fetchall()
        if said != [("ok",)]:
            yield f"the ledger's file is damaged: {said[:5]}"
    finally:
        ledger.close()


class Sabotage:
    """Breaks a copy of the books, so that the checks have something to find."""

    def __init__(self, books, chance):
        self.books = dataclasses.replace(
            books, expected=dict(books.expected), deliveries=[dict(d) for d in books.deliveries],
            seen={outlet: list(seen) for outlet, seen in books.seen.items()},
            stopped=list(books.stopped))
        self.chance = chance

    def reading(self):
        del self.books.expected[self.chance.choice(sorted(self.books.expected))]

    def last(self, outlet):
        """The last outcome of a case did not arrive."""
        case = self.chance.choice(self.books.cases)
        gone = (case["case"], case["sequence"])
        self.books.seen[outlet] = [one for one in self.books.seen[outlet]
                                   if (one.case, one.sequence) != gone]

    def order(self, outlet):
        """The first outcome of a case came last; where all are wanted, after the second."""
        seen = self.books.seen[outlet]
        second = self.chance.choice([one for one in seen if one.accepted and one.sequence > 1])
        first_id = f"{second.case}-1"
        firsts = [one for one in seen if one.id == first_id]
        if not firsts:  # it was skipped
            firsts = [dataclasses.replace(second, id=first_id, sequence=1)]
        self.books.seen[outlet] = [one for one in seen if one.id != first_id] + firsts

    def repeat(self, outlet):
        """Something came again with another content."""
        one = self.chance.choice(self.books.seen[outlet])
        self.books.seen[outlet].append(dataclasses.replace(one, body=one.body + b" "))

    def content(self, outlet):
        """All that came of a case's last outcome says something else."""
        case = self.chance.choice(self.books.cases)
        for one in self.books.seen[outlet]:
            if (one.case, one.sequence) == (case["case"], case["sequence"]):
                self.books.seen[outlet] = [
                    dataclasses.replace(other, content={}) if other.id == one.id else other
                    for other in self.books.seen[outlet]]
                return

    def delivery(self, outlet, state="sent"):
        return self.chance.choice([one for one in self.books.deliveries
                                   if one["outlet"] == outlet and one["state"] == state])

    def state(self, outlet):
        self.delivery(outlet)["state"] = "waiting"

    def reference(self, outlet):
        """A name that the receiver did not give."""
        self.delivery(outlet)["reference"] = "somewhere"

    def unknown(self, outlet):
        """The ledger does not know what came."""
        self.books.deliveries.remove(self.delivery(outlet))

    def skipped(self, outlet):
        """What was not told is held for sent."""
        told = {one.id for one in self.books.seen[outlet]}
        self.chance.choice([one for one in self.books.deliveries if one["outlet"] == outlet and
                            one["state"] == "skipped" and one["id"] not in told])["state"] = "sent"

    def silence(self, outlet):
        """A last outcome is held for skipped."""
        case = self.chance.choice(self.books.cases)
        for one in self.books.deliveries:
            if (one["outlet"], one["case"], one["sequence"]) == (outlet, case["case"],
                                                                 case["sequence"]):
                one["state"] = "skipped"

    def pause(self, outlet):
        self.books.stopped.append((outlet, 1, 2))


SABOTAGES = ["reading"] + [
    f"{what}:{outlet}" for outlet in ("till", "books", "archive", "shelf")
    for what in ("last", "order", "repeat", "content", "state", "reference", "unknown", "pause")
] + ["skipped:shelf", "silence:shelf"]


def sabotaged(books, name, seed):
    what, _, outlet = name.partition(":")
    sabotage = Sabotage(books, random.Random(f"{name} {seed}"))
    getattr(sabotage, what)(*([outlet] if outlet else []))
    return sabotage.books


def tried(books, seed):
    """Each sabotage with whether the checks find it; those left out that have nothing to break."""
    books = books.of(books.cases[:200])
    for name in SABOTAGES:
        try:
            broken = sabotaged(books, name, seed)
        except IndexError:
            continue
        yield name, any(True for _ in check(broken))
