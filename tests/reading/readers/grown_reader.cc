// A reader of a later day that still speaks this version of the ABI: its structs have grown at
// their ends. It gives one record: all that it was fed, as field "text".
#include <girdle/reader.h>

#include <string>

struct girdle_reader {
  const girdle_reader_host* host;
  std::string bytes;
  bool told = false;
};

namespace {

struct GrownRecord {
  girdle_record record;
  uint64_t more = 0x4545454545454545;
};
struct GrownAside {
  girdle_aside aside;
  uint64_t more = 0x4545454545454545;
};
struct GrownDescriptor {
  girdle_reader_descriptor descriptor;
  void (*more)() = nullptr;
};

girdle_reader* create(const girdle_reader_host* host, const girdle_reader_setup*) {
  return new girdle_reader{host, {}};
}

girdle_status feed(girdle_reader* r, const void* bytes, size_t size) {
  r->bytes.append(static_cast<const char*>(bytes), size);
  return GIRDLE_OK;
}

girdle_status finish(girdle_reader* r) {
  r->told = true;
  const girdle_text name{"text", 4}, value{r->bytes.data(), r->bytes.size() - 1};
  GrownRecord record{{sizeof(GrownRecord), 0, 0, r->bytes.size() - 1, 1, 1, &name, &value}};
  GrownAside aside{{sizeof(GrownAside), 0, r->bytes.size() - 1, 1, 1, {"the last byte", 13}}};
  const girdle_status status = r->host->emit(r->host, &record.record);
  return status == GIRDLE_OK ? r->host->aside(r->host, &aside.aside) : status;
}

uint64_t consumed(const girdle_reader* r) { return r->told ? r->bytes.size() : 0; }

girdle_status save(girdle_reader*, girdle_text* state) {
  *state = {nullptr, 0};
  return GIRDLE_OK;
}

void destroy(girdle_reader* r) { delete r; }

const void* extension(const char*) { return nullptr; }

const GrownDescriptor kGrown = {{sizeof(GrownDescriptor), 0, "grown", "0.1.0", create, feed, finish,
                                 consumed, save, destroy, extension}};

}  // namespace

girdle_status girdle_reader_negotiate(uint32_t host_min, uint32_t host_max, uint32_t* chosen) {
  if (host_min > GIRDLE_READER_ABI || host_max < GIRDLE_READER_ABI) return GIRDLE_UNSUPPORTED;
  *chosen = GIRDLE_READER_ABI;
  return GIRDLE_OK;
}

const girdle_reader_descriptor* girdle_reader_descriptor_at(uint32_t index) {
  return index == 0 ? &kGrown.descriptor : nullptr;
}
