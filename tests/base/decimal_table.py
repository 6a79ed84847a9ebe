#!/usr/bin/env python3
"""Prints decimal_table.inc: what CPython's decimal module (an implementation of the General Decimal
Arithmetic specification) makes of the same operations. Precision 34, half to even. An exact operation
whose result has more than 34 digits is "none" there and must be nothing here.

    python3 decimal_table.py > decimal_table.inc
"""
import decimal
import random

exact = decimal.Context(prec=34, rounding=decimal.ROUND_HALF_EVEN, traps=[decimal.Inexact])
rounding = decimal.Context(prec=34, rounding=decimal.ROUND_HALF_EVEN, traps=[])
pick = random.Random(18323)


def number():
    digits = pick.choice([1, 2, 3, 5, 9, 17, 18, 19, 20, 33, 34])
    coefficient = pick.randrange(1, 10**digits)
    if pick.random() < 0.2:
        coefficient = int(str(coefficient)[:1] + "9" * (digits - 1))
    sign = pick.choice(["", "-"])
    text = str(coefficient)
    places = pick.choice([0, 0, 1, 2, 4, len(text) - 1, len(text), len(text) + 2])
    if places:
        text = text.rjust(places + 1, "0")
        text = text[:-places] + "." + text[-places:]
    return sign + text


def plain(value):
    text = format(value, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def tried(operation, a, b):
    try:
        return plain(operation(decimal.Decimal(a), decimal.Decimal(b)))
    except decimal.Inexact:
        return "none"


fixed = [("1", "3"), ("2", "3"), ("-2", "3"), ("0.1", "0.2"), ("1", "-7"), ("9999999999999999999999999999999999", "1"),
         ("9999999999999999999999999999999999", "-0.1"), ("1e33", "1"), ("0.5", "0.50"), ("25.4", "3.25"),
         ("-459.67", "32"), ("5", "9"), ("1", "9999999999999999999999999999999999"), ("0", "5"), ("-0", "0.0")]
for a, b in fixed + [(number(), number()) for _ in range(60)]:
    x, y = decimal.Decimal(a), decimal.Decimal(b)
    ratio = "none" if y == 0 else plain(rounding.divide(x, y))
    order = "<" if x < y else ">" if x > y else "="
    print('{"%s", "%s", "%s", "%s", "%s", "%s", \'%s\'},' % (
        a, b, tried(exact.add, a, b), tried(exact.subtract, a, b), tried(exact.multiply, a, b), ratio, order))
