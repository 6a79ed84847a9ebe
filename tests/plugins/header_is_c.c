/* The header is plain C11: this is compiled as C, and so is what a reader written in C has to write. */
#include "girdle/reader.h"

_Static_assert(offsetof(girdle_record, size) == 0, "every struct begins with its size");
_Static_assert(offsetof(girdle_aside, size) == 0, "every struct begins with its size");
_Static_assert(offsetof(girdle_reader_host, size) == 0, "every struct begins with its size");
_Static_assert(offsetof(girdle_reader_setup, size) == 0, "every struct begins with its size");
_Static_assert(offsetof(girdle_reader_descriptor, size) == 0, "every struct begins with its size");

unsigned girdle_header_version_in_c(void) { return GIRDLE_READER_ABI; }
