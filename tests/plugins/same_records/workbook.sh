#!/bin/sh
# stones.csv as a workbook of LibreOffice: workbook.sh FOLDER
# The filter's tokens: comma, double quote, UTF-8, from line 1, every column standard, language, quoted fields are text
# (true), detect special numbers such as dates (true).
soffice "-env:UserInstallation=file://$1/profile" --headless --infilter='CSV:44,34,76,1,,1033,true,true' \
  --convert-to xlsx --outdir "$1" "$(dirname "$0")/stones.csv"
