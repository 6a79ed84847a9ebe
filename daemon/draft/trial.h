// A reader, tried on samples: its raw records, before any mapping, and what it sets aside.
//
// The library is the one that the service would load: in this process, or in one of its own. Blocks
// while it reads. One thread.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "draft/columns.h"
#include "draft/sample.h"
#include "reading/isolation.h"
#include "reading/manifest.h"

namespace girdle::draft {

struct RawAside {
  size_t sample = 0;
  uint64_t line = 0;  // 0 = not known
  uint64_t offset = 0, length = 0;
  std::string reason;
};

struct Trial {
  std::vector<RawRecord> records;
  std::vector<RawAside> asides;
  std::string refusal;  // why it did not begin at all, or gave up

  bool is_clean() const { return refusal.empty() && asides.empty(); }
  uint64_t bytes_aside() const;
};

// `options` without those that may keep their defaults. `isolation`: in a process of its own.
Trial try_reader(const reading::Catalogue& catalogue, const std::string& reader,
                 const reading::Options& options, const Samples& samples,
                 const std::optional<reading::Isolation>& isolation = {});

}  // namespace girdle::draft
