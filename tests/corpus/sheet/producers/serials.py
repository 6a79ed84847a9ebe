"""Serial numbers of dates and what openpyxl makes of them; prints serials.tsv: base, serial number, local time.

Milliseconds are left out where they are 0, as the reader does.
"""
import random

from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

random.seed(1900)
for base, epoch, first, last in [("1900", CALENDAR_WINDOWS_1900, 1, 2958465), ("1904", CALENDAR_MAC_1904, 0, 2957003)]:
    days = [*range(max(first, 1), 70), 366, 367, 36585, 36586, last]
    days = [day for day in days if base == "1904" or day != 60]
    days += [random.randint(61, last) for _ in range(60)]
    for day in days:
        millis = random.choice([0, 43200000, 86399000, 1000, random.randrange(86400) * 1000, random.randrange(86400000)])
        serial = day + millis / 86400000
        when = from_excel(serial, epoch)
        if not hasattr(when, "date"):
            continue
        text = when.isoformat(timespec="milliseconds").removesuffix(".000")
        print(base, repr(serial), text, sep="\t")
    for day in [random.randint(61, 60000) for _ in range(60)]:
        serial = day + random.random()
        text = from_excel(serial, epoch).isoformat(timespec="milliseconds").removesuffix(".000")
        print(base, repr(serial), text, sep="\t")
