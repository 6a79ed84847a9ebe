// A zip archive in memory, as Office Open XML packs a workbook (ECMA-376, part 2): its parts by
// name, unpacked piece by piece, so that none is in memory as a whole.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>

#include "sheet/zip_directory.h"

namespace girdle::sheet {

// Against archives that unpack to more than anybody can hold.
struct PackageLimits {
  uint64_t max_entries = 4096;
  uint64_t max_inflated = 256u << 20;  // bytes of one part
  uint64_t max_ratio = 100;            // of a part's bytes to its packed ones; small parts are free
};

class Package {
 public:
  // `bytes` live longer than this. Nothing, and why, where they are no such archive.
  static std::unique_ptr<Package> open(std::string_view bytes, const PackageLimits& limits,
                                       std::string& fault);

  // Names as in the archive, without a leading slash; letters' case does not count (part 2, 6.2.2).
  bool has(std::string_view part) const;

  // Hands the part's bytes to `take` in pieces of at most 64 KiB; false from it ends that. Why the
  // part cannot be read; empty where it was.
  using Take = std::function<bool(std::string_view bytes)>;
  std::string read(std::string_view part, const Take& take) const;

 private:
  struct Place {
    size_t index = 0;  // in the directory
    bool twice = false;
  };

  Package(std::string_view bytes, const PackageLimits& limits, ZipDirectory directory);
  std::string fault_of(const ZipEntry& entry) const;
  std::string unpack(const ZipEntry& entry, std::string_view packed, const Take& take) const;

  const std::string_view bytes_;
  const PackageLimits limits_;
  const ZipDirectory directory_;
  std::map<std::string, Place, std::less<>> places_;  // by names in lower case
};

}  // namespace girdle::sheet
