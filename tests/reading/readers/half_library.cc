// A library that lacks one of the two functions.
#include <girdle/reader.h>

girdle_status girdle_reader_negotiate(uint32_t, uint32_t host_max, uint32_t* chosen) {
  *chosen = host_max;
  return GIRDLE_OK;
}
