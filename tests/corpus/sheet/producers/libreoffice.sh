#!/bin/sh
# stones.csv as workbooks of LibreOffice: libreoffice.sh FOLDER
# The filter's tokens: comma, double quote, UTF-8, from line 1, every column standard, language, quoted fields are text
# (false), detect special numbers such as dates (true).
cd "$(dirname "$0")" || exit
soffice --headless --infilter='CSV:44,34,76,1,,1033,false,true' --convert-to xlsx --outdir "$1" stones.csv
soffice --headless --infilter='CSV:44,34,76,1,,1033,false,true' --convert-to 'xlsx:Calc Office Open XML' --outdir "$1/ooxml" stones.csv
soffice --headless --infilter='CSV:44,34,76,1,,1033,false,true' --convert-to ods --outdir "$1" stones.csv
soffice --headless --infilter='CSV:44,34,76,1,,1033,false,true' --convert-to xls --outdir "$1" stones.csv
