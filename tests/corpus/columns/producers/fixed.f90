! Writes accept/001: formatted records of Fortran (ISO/IEC 1539-1, format specifications).
program fixed
  implicit none
  character(len=*), parameter :: form = '(I4,1X,A10,1X,A8,1X,A12,1X,A1,1X,F7.3,1X,F5.1)'
  write (*, form) 1, '02.11.2026', '10:15:30', 'R1042', 'A', 0.5, 21.5
  write (*, form) 2, '02.11.2026', '10:16:40', 'R1042', 'A', 0.5, 21.5
  write (*, form) 1234, '02.11.2026', '10:18:05', 'LONG-ITEM-12', 'C', 10.125, -3.0
  write (*, form) 12345, '02.11.2026', '10:20:00', 'R1044', '-', 1.0, 21.0
end program fixed
