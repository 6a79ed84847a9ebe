"""Documents of xml.etree.ElementTree and xml.dom.minidom, and what they were told to hold (told.json).

    python3 elements.py FOLDER
"""
import json
import sys
import xml.etree.ElementTree as ET
from pathlib import Path
from xml.dom import minidom

folder = Path(sys.argv[1])
STONES = [
    {"@id": "R1042", "weight/@unit": "ct", "weight": "0.50", "note": "round; \"fancy\" & <clear>", "by/name": "Zoé"},
    {"@id": "R1043", "weight/@unit": "ct", "weight": "0.71", "note": " two\nlines ", "by/name": "O'Neil"},
    {"@id": "00123", "weight/@unit": "g", "weight": "1.10", "note": "", "by/name": "Ünal ]]>"},
]


def tree():
    root = ET.Element("export")
    stones = ET.SubElement(root, "stones")
    for told in STONES:
        stone = ET.SubElement(stones, "stone", id=told["@id"])
        ET.SubElement(stone, "weight", unit=told["weight/@unit"]).text = told["weight"]
        ET.SubElement(stone, "note").text = told["note"]
        ET.SubElement(ET.SubElement(stone, "by"), "name").text = told["by/name"]
    return ET.ElementTree(root)


for encoding in ["utf-8", "us-ascii", "utf-16", "iso-8859-1"]:
    tree().write(folder / f"etree-{encoding}.xml", encoding=encoding, xml_declaration=True)
indented = tree()
ET.indent(indented, "\t")
indented.write(folder / "etree-indented.xml", encoding="utf-8", short_empty_elements=False)
pretty = minidom.parseString(ET.tostring(tree().getroot())).toprettyxml(encoding="utf-8", newl="\r\n")
(folder / "minidom-pretty.xml").write_bytes(pretty)
(folder / "told.json").write_text(json.dumps([list(stone.items()) for stone in STONES], ensure_ascii=False))
