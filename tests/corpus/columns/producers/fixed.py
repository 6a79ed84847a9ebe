"""Writes accept/004 to 007: str.format and str.ljust count characters, struct.pack counts bytes."""
import pathlib
import struct

accept = pathlib.Path(__file__).parent.parent / "accept"

ROWS = [("R1042", "Ring, weiß", 0.5, "A"), ("R1043", "Пусеты", 10.25, "B"), ("R1044", "指輪 18K", 1.0, "-")]

with open(accept / "004-characters.txt", "w", encoding="utf-8", newline="\r\n") as out:
    for item, what, carat, result in ROWS:
        out.write(f"{item:<8}{what:<12}{carat:>8.2f} {result}\n")

with open(accept / "005-bytes.txt", "wb") as out:
    for item, what, carat, result in ROWS:
        fields = [item.encode(), what.encode(), f"{carat:.2f}".encode(), result.encode()]
        out.write(struct.pack("8s16s8sx1s", *fields).replace(b"\0", b" ") + b"\n")

# "é" as a letter and a combining accent: two characters, as Unicode (chapter 2.11) has it.
with open(accept / "006-combining-marks.txt", "w", encoding="utf-8") as out:
    for note in ["cafe\u0301", "café", "cafe"]:
        out.write(f"{note:<6}|A\n")

with open(accept / "007-tabs.txt", "w") as out:
    for cells in [("R1042", "A", "0.50"), ("R1043-L", "B", "10.25"), ("R7", "-", "1")]:
        out.write("\t".join(cells) + "\n")
