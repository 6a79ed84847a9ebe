"""Messages of bodies of one's own, read by Python's own readers: csv, xml.etree, json, urllib, http.client.

own_bodies_test.py PROGRAM: the program prints messages and the values that they were made from. Each value comes back
as it was, or its outcome was refused for a reason that the format gives. The readers are Python's standard library.
"""
import csv
import io
import json
import http.client
import re
import subprocess
import sys
import urllib.parse
import xml.etree.ElementTree

NAMES = ["sku", "place", "note", "carat"]
# XML 1.0, production 2, without the surrogates that UTF-8 cannot have.
NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
# RFC 9110 5.5: visible ASCII; spaces and tabs inside.
FIELD_VALUE = re.compile(r"([!-~]([ \t!-~]*[!-~])?)?")


def parts(request):
    head, _, body = request.encode().partition(b"\r\n\r\n")
    line, _, fields = head.partition(b"\r\n")
    message = http.client.parse_headers(io.BytesIO(fields + b"\r\n\r\n"))
    assert int(message["content-length"]) == len(body), "content-length"
    return line.decode(), message, body.decode()


def from_json(body, many):
    rows = [json.loads(text) for text in (body.split("\n")[:-1] if many else [body])]
    assert all(list(row) == NAMES for row in rows)
    return [list(row.values()) for row in rows]


def from_csv(body, many, delimiter=","):
    rows = list(csv.reader(io.StringIO(body, newline=""), delimiter=delimiter, strict=True))
    assert rows[0] == NAMES
    return rows[1:]


def from_xml(body, many):
    root = xml.etree.ElementTree.fromstring(body.encode())
    rows = []
    for item in root if many else [root]:
        assert item.tag == "screening"
        texts = {child.tag: child.text or "" for child in item} | dict(item.attrib)
        assert len(texts) == len(item) + len(item.attrib) and set(texts) <= set(NAMES)
        rows.append([texts.get(name) for name in NAMES])
    return rows


def from_pairs(text):
    pairs = urllib.parse.parse_qsl(text, keep_blank_values=True, strict_parsing=True, errors="strict")
    assert len({name for name, _ in pairs}) == len(pairs)
    return [dict(pairs).get(name) for name in NAMES]


def refusal(kind, row):
    """Whether the format gives a reason not to send such values."""
    texts = [text for text in row if text is not None]
    if kind == "xml":
        return any(NO_XML.search(text) for text in texts)
    if kind.startswith("csv"):
        return any("\0" in text for text in texts)
    if kind == "headers":
        return not all(FIELD_VALUE.fullmatch(text) for text in texts)
    if kind == "path":  # a segment that leads elsewhere once it is decoded, or that no server takes
        return any(set(part) == {"."} for part in re.split(r"[/\\]", row[0])) or bool(re.search("[\0-\x1f\x7f]", row[0]))
    return False


def check(sample):
    kind, rows = sample["kind"], sample["rows"]
    refused = [place for place, row in enumerate(rows) if refusal(kind, row)]
    assert sample["refused"] == refused, f"refused {sample['refused']}, and the format refuses {refused}"
    sent = [row for row in rows if not refusal(kind, row)]
    if not sent:
        assert sample["request"] is None
        return
    line, fields, body = parts(sample["request"])
    assert set(fields) - set(NAMES) == {"host", "user-agent", "content-type", "webhook-id", "webhook-timestamp",
                                        "content-length"}
    method, target, version = line.split(" ")
    assert (method, version) == ("POST", "HTTP/1.1")
    many = sample["name"] == "batch"
    if kind == "query":
        read = [from_pairs(urllib.parse.urlsplit(target).query)]
    elif kind == "path":
        prefix, _, segment = urllib.parse.urlsplit(target).path.rpartition("/")
        assert prefix == "/stock"
        read, sent = [urllib.parse.unquote(segment, errors="strict")], [row[0] for row in sent]
    elif kind == "headers":
        read = [[fields.get(name) for name in NAMES]]
    elif kind == "form":
        read = [from_pairs(body)]
    elif kind.startswith("csv"):
        read = from_csv(body, many, kind[3:] or ",")
        sent = [[text or "" for text in row] for row in sent]
    else:
        read = {"json": from_json, "xml": from_xml}[kind](body, many)
    assert read == sent, f"read {read!r}, sent {sent!r}"


samples = subprocess.run([sys.argv[1]], stdout=subprocess.PIPE, check=True).stdout.decode().rstrip("\n").split("\n")
wrong = []
counts = {}
for text in samples:
    sample = json.loads(text)
    counts[sample["kind"]] = counts.get(sample["kind"], 0) + 1
    try:
        check(sample)
    except Exception as failure:
        wrong.append(f"{sample['kind']}: {type(failure).__name__}: {failure}\n  {text[:400]}")
print("\n".join(wrong) or "read as it was written: " + ", ".join(f"{count} {kind}" for kind, count in counts.items()))
expected = {"json", "xml", "form", "csv", "csv;", "query", "path", "headers"}
sys.exit(1 if wrong or set(counts) != expected else 0)
