// What the documents of one intake share.
#pragma once

#include <girdle/reader.h>

#include <cstdint>
#include <memory>
#include <stop_token>
#include <string>
#include <vector>

#include "reading/carrier.h"
#include "reading/manifest.h"
#include "reading/mapper.h"

namespace girdle::reading {

constexpr uint64_t kMaxFields = 1'000;  // of a record

struct LoadedReader {
  std::string name;
  std::unique_ptr<Carriage> carriage;
  Options options;                  // with the manifest's defaults
  std::vector<girdle_option> lent;  // over `options`
  Mapper mapper;
  uint64_t max_record_bytes = 0;
  bool declarations = false;  // it makes some
  uint64_t documents = 0;     // begun so far: numbers them for the mapper
  std::stop_token stop{};     // ends the blocking of whoever blocks
};

}  // namespace girdle::reading
