"""What somebody else's reader makes of /metrics: Debian's python3-prometheus-client, whose parser of OpenMetrics is
strict; then the rules of OpenMetrics 1.0 (draft-richih-opsawg-openmetrics-00) that it does not check, each by the title of
its section; then that the manual's table names what is there, and nothing else.

    python3 openmetrics_test.py PROGRAM|http://… MANUAL

PROGRAM prints an exposition whose every family has a series; it is given an empty folder. A URL is that of a service
that runs: there, families may be without one.
"""
import pathlib
import re
import subprocess
import sys
import tempfile
import urllib.request

try:
    from prometheus_client.openmetrics.parser import text_string_to_metric_families
    from prometheus_client.utils import floatToGoString
except ImportError:
    sys.exit("this needs Debian's python3-prometheus-client, and the Python that sees it (/usr/bin/python3)")

CONTENT_TYPE = "application/openmetrics-text; version=1.0.0; charset=utf-8"
SUFFIXES = ("_total", "_created", "_count", "_sum", "_bucket", "_gcount", "_gsum", "_info")
# A name as the sample has it, with all that the format escapes.
AWKWARD = 'a "till" \\ and\nmore'
failures = []


def check(holds, what):
    if not holds:
        failures.append(what)


def exposition(source):
    if source.startswith("http"):
        with urllib.request.urlopen(source, timeout=10) as answer:
            check(answer.headers["Content-Type"] == CONTENT_TYPE,  # "Overall Structure"
                  f"the content type is {answer.headers['Content-Type']!r}")
            return answer.read()
    with tempfile.TemporaryDirectory() as folder:
        return subprocess.run([source, folder], check=True, capture_output=True).stdout


def manual_rows(path):
    """Name, type, unit and labels of each row in the table of the section."""
    section = pathlib.Path(path).read_text().split("\n## Metrics and health", 1)
    if len(section) != 2:
        sys.exit(f'{path} has no section "Metrics and health"')
    rows = re.findall(r"^\| `(girdle_\w+)` \| (\w+) \| (\w*) \| (.*?) \| \S.* \|$", section[1].split("\n## ")[0], re.M)
    return {name: (kind, unit, frozenset(re.findall(r"`(\w+)`", labels))) for name, kind, unit, labels in rows}


def check_bytes(raw):
    """Text format, "Overall Structure" and "MetricFamily metadata"."""
    text = raw.decode("utf-8")  # strict: "UTF-8 MUST be used"
    check(not text.startswith("\ufeff"), "there is a byte order mark")
    check("\r" not in text, "there is a carriage return")
    check(text.endswith("\n# EOF\n"), "it does not end with EOF and a line feed")
    order = {}
    for line in text.splitlines():
        if found := re.match(r"# (TYPE|UNIT|HELP) (\S+) ", line):
            order.setdefault(found[2], []).append(found[1])
    for name, kinds in order.items():
        check(kinds in (["TYPE", "UNIT", "HELP"], ["TYPE", "HELP"]), f"{name}: metadata in the order {kinds}")
    return text


def check_numbers(text):
    """ "Numbers": integers have no point, floats have one; counts are integers. "Timestamps": created is seconds with a point.
    "Escaping": no undefined escape sequence. "Metric": no explicit timestamps. """
    for line in text.splitlines():
        if line.startswith("#"):
            continue
        found = re.fullmatch(r'([a-z_]+)(?:\{((?:[a-z_]+="(?:[^"\\]|\\[n"\\])*",?)*)\})? (-?\d+(?:\.\d+)?)', line)
        check(found, f"no sample as we write them: {line}")
        if not found:
            continue
        if found[1].endswith(("_total", "_bucket", "_count")):
            check("." not in found[3], f"a count with a point: {line}")
        if found[1].endswith(("_created", "_seconds", "_sum")):
            check("." in found[3], f"a time without a point: {line}")


def check_family(family, with_series):
    name, samples = family.name, family.samples
    check(re.fullmatch(r"girdle(_[a-z]+)+", name), f"{name}: not a name of ours")
    check(not name.endswith(SUFFIXES), f"{name} ends like a sample (\"Suffixes\")")
    check(family.documentation, f"{name} has no help (\"MetricFamily\", \"Help\")")
    check(family.unit in ("", "seconds", "bytes"), f"{name}: {family.unit} is no base unit (\"Units and Base Units\")")
    for unit in ("seconds", "bytes"):
        check(not name.endswith("_" + unit) or family.unit == unit, f"{name} has no UNIT (\"MetricFamily metadata\")")
    check(samples or not with_series, f"{name} has no series in the sample")
    own = {"histogram": "le", "stateset": name}.get(family.type)
    sets = {frozenset(sample.labels) - {own} for sample in samples}
    check(len(sets) <= 1, f"{name}: series with different labels (\"Metric\")")
    for sample in samples:
        check(not any(label.startswith("_") for label in sample.labels), f"{name}: a reserved label (\"Label\")")
        check(all(sample.labels.values()), f"{name}: an empty label, which means none (\"Label\")")
        if "le" in sample.labels:
            le = sample.labels["le"]
            check(le == floatToGoString(float(le)), f"{name}: le={le} is not canonical (\"Canonical Numbers\")")
    if family.type == "stateset":
        check_states(family)
    if family.type in ("counter", "histogram"):
        check_created(family)
    return next(iter(sets), frozenset())


def check_states(family):
    """ "StateSet": an enum has exactly one that is true, and each of its states has a sample. """
    points = {}
    for sample in family.samples:
        labels = dict(sample.labels)
        state = labels.pop(family.name)
        points.setdefault(tuple(sorted(labels.items())), {})[state] = sample.value
    for labels, states in points.items():
        check(sum(states.values()) == 1, f"{family.name}{labels}: {states}")
        check(set(states) == {"open", "paused", "closed", "resting"}, f"{family.name}{labels}: {states}")


def check_created(family):
    """ "Counter", "Histogram": where there is a Created, it is the time of its own point, and no earlier than this format. """
    created = [sample for sample in family.samples if sample.name.endswith("_created")]
    for sample in created:
        check(sample.value > 1.5e9, f"{family.name}: created at {sample.value}")
    if family.type == "histogram" and family.samples:
        names = {sample.name.removeprefix(family.name) for sample in family.samples}
        check({"_bucket", "_sum", "_count"} <= names, f"{family.name} has only {names} (\"Histogram\")")


def main():
    source, manual = sys.argv[1], manual_rows(sys.argv[2])
    with_series = not source.startswith("http")
    check(len(manual) > 30, f"the manual's table has {len(manual)} rows")
    text = check_bytes(exposition(source))
    check_numbers(text)
    families = list(text_string_to_metric_families(text))
    told = {family.name: (family, check_family(family, with_series)) for family in families}
    for name in sorted(told.keys() ^ manual.keys()):
        check(False, f"{name} is only in the {'program' if name in told else 'manual'}")
    for name in told.keys() & manual.keys():
        family, labels = told[name]
        kind, unit, manual_labels = manual[name]
        check(family.type == kind, f"{name} is a {family.type}, and in the manual a {kind}")
        check(family.unit == unit, f"{name} has the unit {family.unit!r}, and in the manual {unit!r}")
        if family.samples:
            check(labels == manual_labels, f"{name} has the labels {sorted(labels)}, and in the manual {sorted(manual_labels)}")
    # "Label Namespacing": names that the admin's own system gives to whatever it collects.
    taken = {"region", "zone", "cluster", "az", "datacenter", "dc", "owner", "customer", "stage", "service", "team", "job",
             "instance", "environment", "env", "type"}
    for name, (family, labels) in told.items():
        check(not labels & taken, f"{name}: {labels & taken}")
    if with_series:
        states = told["girdle_outlet_state"][0].samples
        check(any(sample.labels["outlet"] == AWKWARD for sample in states), "the awkward name did not come through")
    print("\n".join(failures) or f"{len(families)} families, {sum(len(f.samples) for f in families)} samples: all right")
    sys.exit(1 if failures else 0)


main()
