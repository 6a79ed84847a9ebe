// A small host: loads readers as the daemon does, feeds them as a test says, keeps what they say,
// and finds breaches of the contract in girdle/reader.h.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "girdle/reader.h"

namespace girdle::plugins_test {

using Options = std::map<std::string, std::string>;

struct Record {
  uint64_t offset = 0;
  uint64_t length = 0;
  uint64_t line = 0;
  uint32_t layout = 0;
  std::vector<std::pair<std::string, std::string>> fields;
};

struct Aside {
  uint64_t offset = 0;
  uint64_t length = 0;
  uint64_t line = 0;
  std::string reason;
  bool operator==(const Aside&) const = default;
};

struct Heard {
  std::vector<Record> records;
  std::vector<Aside> asides;
  std::string refusal;                // create's
  std::vector<std::string> breaches;  // of the contract
  girdle_status status = GIRDLE_OK;   // the last one
  uint64_t consumed = 0;
  std::string state;

  // Everything but layouts, for comparing.
  std::string text() const;
};

struct Limits {
  uint64_t bytes = 1 << 20;
  uint64_t fields = 1000;
  uint64_t stop_after = UINT64_MAX;  // emits and asides
};

// Feeds `pieces` one after the other, each from memory of its own that is gone after the call.
Heard read(const girdle_reader_descriptor& reader, const std::vector<std::string_view>& pieces,
           const Options& options = {}, bool finish = true, const Limits& limits = {},
           std::string_view resume = {});

// The same bytes as a growing document: at each of `cuts` (ascending) another reader goes on from
// what the one before saved. Offsets are those of the whole.
Heard read_growing(const girdle_reader_descriptor& reader, std::string_view bytes,
                   const std::vector<size_t>& cuts, const Options& options = {},
                   const Limits& limits = {});

std::vector<std::string_view> pieces_of(std::string_view bytes, size_t size);

// A library opened as the daemon opens it; stays open to the end of the program.
struct Library {
  girdle_status (*negotiate)(uint32_t, uint32_t, uint32_t*) = nullptr;
  const girdle_reader_descriptor* (*descriptor_at)(uint32_t) = nullptr;
  std::string error;
};
Library open_library(const std::string& path);

}  // namespace girdle::plugins_test
