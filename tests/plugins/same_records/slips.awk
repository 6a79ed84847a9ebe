# Printed slips, of documents.py tabs.
BEGIN { FS = "\t" }
{
  split($2, at, " ")
  split(at[1], day, "-")
  print "    quay-street"
  print "Device     : A-0117"
  print "Run no.    : " $1
  print "Date, time : " day[2] "/" day[3] "/" day[1] " " at[2]
  print "Stock no.  : " $3
  print "Result     : " toupper($4)
  print "Type       : " $5
  print "Certainty  : " $6
  print "Weight     : " ($7 == "" ? "" : $7 " ct")
  print "Colour     : " $8
  print "Room       : " $9 " C, " $10 " %"
  print "Operator   : " $11
  print "Note       : " $12
  print "------------------------"
}
