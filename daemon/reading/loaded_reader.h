// What the documents of one intake share.
#pragma once

#include <girdle/reader.h>

#include <cstdint>
#include <vector>

#include "reading/library.h"
#include "reading/manifest.h"
#include "reading/mapper.h"

namespace girdle::reading {

struct LoadedReader {
  std::string name;
  Library library;
  Options options;                  // with the manifest's defaults
  std::vector<girdle_option> lent;  // over `options`
  Mapper mapper;
  uint64_t max_record_bytes = 0;
  model::RecordKind record = model::RecordKind::kReading;
  uint64_t documents = 0;  // begun so far: numbers them for the mapper
};

}  // namespace girdle::reading
