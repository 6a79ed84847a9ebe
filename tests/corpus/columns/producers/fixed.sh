#!/bin/bash
# Writes accept/002 (printf of bash, which pads by bytes) and accept/003 and aside/011 (column of
# util-linux, which pads by cells of the terminal).
cd "$(dirname "$0")/.." || exit 1
export LC_ALL=C.UTF-8
{
  printf '%-8s|%5s|%-10s|%1s\n' R1042 1 'gray' A
  printf '%-8s|%5s|%-10s|%1s\n' 'R 1043' 12345 'grau-weiß' C
  printf '%-8s|%5s|%-10s|%1s\n' '' 2 '' -
} > accept/002-printf.txt
printf '%s\n' 'R1042;A;0.50' 'R1043-LEFT;B;10.25' 'R7;-;1' |
  column -t -s ';' -o '  ' > accept/003-column.txt
printf '%s\n' 'R1042;Ring;A' 'R1043;指輪;B' 'R1044;Kette;C' |
  column -t -s ';' > aside/011-padded-by-cells.txt
