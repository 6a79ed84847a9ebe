# Lines of fixed width, of documents.py tabs. Under LC_ALL=C awk pads to bytes.
BEGIN { FS = "\t"; printf "D%-12s\n", "A-0117" }
{
  split($2, at, " ")
  printf "R%5d %-10s %-8s %-10s %-16s %-3s%6s %8s %-10s%5s %5s %-8s %s\n",
      $1, at[1], at[2], $3, $4, $5, $6, $7, $8, $9, $10, $11, $12
}
