"""Random XML documents, and what Python's expat (xml.parsers.expat, without namespaces) makes of them.

Prints one JSON object a line: the document in hexadecimal digits, whether expat takes it, and, where it does, the fields
of each /export/stone as the reader's README names them, with `repeated: number`; null for a record in which text stands
beside child elements.
"""
import json
import random
import re
from xml.parsers import expat

random.seed(20260102)
NAMES = ["run", "item", "g:code", "naïve", "a.b-c_d", "xmlns:g"]
TEXTS = ["", "R1042", " ", "0.50", "a &amp; b", "&lt;&#x41;&#233;", "x\r\ny\rz", "\t1\n2 ", "é€💎", "]] >", "'\""]
FAULTS = ["&", "&x;", "<", "</run>", "]]>", "\x01", "&#0;", "<a b=1/>", "<a b='1' b='2'/>", "<!-- -- -->", "<? x?>", "<A>",
          "<a b='<'/>", "&#xD800;", "<run"]


def attributes():
    quotes = random.choice("'\"")
    values = [text.replace(quotes, "") for text in TEXTS]
    names = random.sample(NAMES, random.randint(0, 2))
    return "".join(f" {name}{random.choice(['=', ' = '])}{quotes}{random.choice(values)}{quotes}" for name in names)


def piece():
    kind = random.random()
    if kind < 0.7:
        return random.choice(TEXTS)
    if kind < 0.8:
        return "<![CDATA[" + random.choice(["<a>&", "]]", " ", ""]) + "]]>"
    if kind < 0.9:
        return "<!-- <a> & -->"
    return "<?p q > ?>"


def element(name, depth):
    start = f"<{name}{attributes()}"
    if random.random() < 0.15:
        return start + random.choice(["/>", " />"])
    if depth < 4 and random.random() < 0.5:
        blank = random.choice(["", "\n  ", "<!-- - -->"])
        inside = "".join(blank + element(random.choice(NAMES), depth + 1) for _ in range(random.randint(1, 3)))
        if random.random() < 0.05:
            inside += "mixed"
    else:
        inside = "".join(piece() for _ in range(random.randint(0, 3)))
    if random.random() < 0.02:
        inside += random.choice(FAULTS)
    return f"{start}>{inside}</{name}{random.choice(['', ' '])}>"


class Node:
    def __init__(self, name, attributes):
        self.name, self.attributes, self.children, self.text = name, attributes, [], ""


def tree(document):
    parser = expat.ParserCreate()
    parser.ordered_attributes = True
    root = Node("", [])
    path = [root]

    def start(name, flat):
        node = Node(name, list(zip(flat[::2], flat[1::2])))
        path[-1].children.append(node)
        path.append(node)

    def text(data):
        path[-1].text += data

    parser.StartElementHandler = start
    parser.EndElementHandler = lambda name: path.pop()
    parser.CharacterDataHandler = text
    parser.Parse(document, True)
    return root.children[0]


def fields(node, way=""):
    """None where text stands beside child elements."""
    lead = way + "/" if way else ""
    found = [[f"{lead}@{name}", value] for name, value in node.attributes if name.split(":")[0] != "xmlns"]
    if not node.children:
        return found + [[way or ".", node.text]]
    if node.text.strip(" \t\r\n"):
        return None
    seen = {}
    for child in node.children:
        seen[child.name] = seen.get(child.name, 0) + 1
        number = f"[{seen[child.name]}]" if seen[child.name] > 1 else ""
        more = fields(child, lead + child.name + number)
        if more is None:
            return None
        found += more
    return found


for number in range(1500):
    encoding = random.choice(["", "", "utf-8", "utf-16", "iso-8859-1", "us-ascii"])
    text = f"<?xml version='1.0' encoding='{encoding}'?>\n" if encoding else ""
    text += "<export>" + "".join("\n" + element("stone", 2) for _ in range(random.randint(0, 4))) + "\n</export>"
    if encoding in ("iso-8859-1", "us-ascii"):
        text = re.sub("[^\x00-\x7f]" if encoding == "us-ascii" else "[^\x00-\xff]", "?", text)
        text = text.replace("na?ve", "naive")
    document = text.encode(encoding or "utf-8")
    try:
        root = tree(document)
        records = [fields(node) for node in root.children]
    except expat.ExpatError:
        records = None
    print(json.dumps({"document": document.hex(), "records": records}))
