// The library's two functions.
#include "kit/descriptor.h"
#include "xml/xml_reader.h"

girdle_status girdle_reader_negotiate(uint32_t host_min, uint32_t host_max, uint32_t* chosen) {
  return girdle::kit::negotiate(host_min, host_max, chosen);
}

const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t index) {
  return index == 0 ? &girdle::xml::descriptor() : nullptr;
}
