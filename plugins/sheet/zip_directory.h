// What is in a zip archive: its central directory (APPNOTE.TXT 6.3.10, 4.3 to 4.5), with the larger
// numbers of ZIP64. As ECMA-376, part 2, has it: one archive in one file, from its first byte on.
//
// Why no library: libzip, libarchive and what zziplib has for memory use mktime, and so look at the
// machine's time zone, which a reader must not; minizip 1.1 takes the marks that refer to ZIP64 for
// the sizes themselves, so that such a workbook cannot be read, and opens archives that are cut off
// in their last bytes. All as Debian 12 has them.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::sheet {

struct ZipEntry {
  std::string_view name;
  uint16_t method = 0;  // 0 stored, 8 deflated
  bool is_encrypted = false;
  uint32_t crc = 0;
  uint64_t packed_size = 0;
  uint64_t size = 0;
  uint64_t header = 0;  // where its local header begins
  uint64_t end = 0;     // where the next one's does, or the directory: it may reach so far
};

struct ZipDirectory {
  std::vector<ZipEntry> entries;
  std::string fault;  // why it cannot be read
};

// Names are lent by `archive`. No more than `max_entries` are read.
ZipDirectory zip_directory(std::string_view archive, uint64_t max_entries);

// The packed bytes of an entry; nothing where it does not lie where the directory says, reaches
// into another one, or its own header says something else.
std::optional<std::string_view> packed_bytes(std::string_view archive, const ZipEntry& entry);

}  // namespace girdle::sheet
