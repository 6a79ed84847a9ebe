"""Workbooks of openpyxl.

    python3 workbooks.py FOLDER
"""
import datetime
import sys
from pathlib import Path

from openpyxl import Workbook
from openpyxl.chart import BarChart, Reference
from openpyxl.utils.datetime import CALENDAR_MAC_1904

folder = Path(sys.argv[1])
HEADER = ["item", "carat", "measured", "day", "time", "ok", "note"]
STONES = [
    ["R1042", 0.5, datetime.datetime(2026, 11, 2, 10, 15, 30), datetime.date(2026, 11, 2), datetime.time(10, 15, 30), True, 'round; "fancy" & <clear>'],
    ["R1043", 0.29, datetime.datetime(2026, 11, 2, 23, 59, 59, 250000), datetime.date(1999, 12, 31), datetime.time(0), False, None],
    ["00123", 12, datetime.datetime(2000, 2, 29), datetime.date(1904, 1, 2), datetime.time(12), None, " two\nlines "],
]


def filled(sheet):
    sheet.append(HEADER)
    for stone in STONES:
        sheet.append(stone)
    for row in sheet.iter_rows(min_row=2):
        row[2].number_format = "yyyy\\-mm\\-dd\\ hh:mm:ss"
        row[3].number_format = "[$-409]d\\-mmm\\-yy;@"
        row[4].number_format = "h:mm"
    return sheet


kinds = Workbook()
filled(kinds.active)
kinds.save(folder / "openpyxl.xlsx")

mac = Workbook()
mac.epoch = CALENDAR_MAC_1904
filled(mac.active)
mac.save(folder / "openpyxl-1904.xlsx")

several = Workbook()
several.active.title = "Notes"
several.active.append(["nothing", "here"])
chart = several.create_chartsheet("Chart")
bars = BarChart()
bars.add_data(Reference(several.active, min_col=1, min_row=1, max_row=1))
chart.add_chart(bars)
stones = several.create_sheet("Stones of the day")
stones.sheet_state = "hidden"
stones["B2"] = "quay-street, Monday"
stones.merge_cells("B2:D2")
for column, name in enumerate(HEADER[:2], 2):
    stones.cell(4, column, name)
stones.append([None, "R1042", 0.5])
stones.append([])
stones.append([None, "R1043", 0.71])
stones.row_dimensions[7].hidden = True
stones["B8"] = "R1044"
stones.merge_cells("B8:B9")
stones["C8"], stones["C9"] = 1, 2
stones["B10"], stones["D10"] = "R1045", None
stones.merge_cells("C10:D10")
several.save(folder / "openpyxl-several.xlsx")

bad = Workbook()
sheet = bad.active
sheet.append(["item", "carat", "measured"])
sheet.append(["R1042", "=0.25*2", None])
sheet.append(["R1043", "#N/A", None])
sheet["B3"].data_type = "e"
sheet.append(["R1044", 1, 60])
sheet.append(["R1045", 1, -1])
sheet.append(["R1046", 1, 61, "a remark"])
sheet.append(["R1047", 1, 61])
for row in sheet.iter_rows(min_row=2, min_col=3, max_col=3):
    row[0].number_format = "yyyy-mm-dd"
bad.save(folder / "openpyxl-faults.xlsx")

twice = Workbook()
twice.active.append(["item", "carat", "item"])
twice.active.append(["R1042", 1, 2])
twice.save(folder / "openpyxl-twice.xlsx")
