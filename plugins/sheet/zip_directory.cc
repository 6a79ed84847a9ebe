#include "sheet/zip_directory.h"

#include <algorithm>
#include <utility>

namespace girdle::sheet {

namespace {

// Lengths of the fixed parts, by their names in APPNOTE.TXT.
constexpr size_t kEnd = 22;       // 4.3.16 end of central directory record
constexpr size_t kLocator = 20;   // 4.3.15 ZIP64 end of central directory locator
constexpr size_t kLargeEnd = 56;  // 4.3.14 ZIP64 end of central directory record
constexpr size_t kCentral = 46;   // 4.3.12 central directory header
constexpr size_t kLocal = 30;     // 4.3.7 local file header
constexpr uint32_t kEndMark = 0x06054b50;
constexpr uint32_t kLocatorMark = 0x07064b50;
constexpr uint32_t kLargeEndMark = 0x06064b50;
constexpr uint32_t kCentralMark = 0x02014b50;
constexpr uint32_t kLocalMark = 0x04034b50;
constexpr uint16_t kLargeNumbers = 0x0001;   // 4.5.3: a field of the extra ones
constexpr uint32_t kElsewhere = 0xFFFFFFFF;  // the number is there
constexpr uint16_t kCountElsewhere = 0xFFFF;
constexpr size_t kMostComment = 0xFFFF;
constexpr uint16_t kEncryptedFlags = 1u << 0 | 1u << 6 | 1u << 13;  // 4.4.4

// Numbers at fixed places, least significant byte first; 0 beyond the end.
class Bytes {
 public:
  explicit Bytes(std::string_view bytes) : bytes_(bytes) {}
  uint64_t number(size_t at, size_t size) const {
    uint64_t value = 0;
    for (size_t i = size; i > 0; --i)
      value =
          value << 8 | (at + i <= bytes_.size() ? static_cast<uint8_t>(bytes_[at + i - 1]) : 0u);
    return value;
  }
  uint16_t two(size_t at) const { return static_cast<uint16_t>(number(at, 2)); }
  uint32_t four(size_t at) const { return static_cast<uint32_t>(number(at, 4)); }
  uint64_t eight(size_t at) const { return number(at, 8); }

 private:
  std::string_view bytes_;
};

struct Extent {
  uint64_t count, begin, size;
};

// The last record: nothing but its comment follows it.
std::optional<size_t> end_record(std::string_view archive) {
  if (archive.size() < kEnd) return std::nullopt;
  const Bytes bytes(archive);
  const size_t last = archive.size() - kEnd;
  const size_t first = last - std::min(last, kMostComment);
  for (size_t at = last + 1; at-- > first;) {
    if (bytes.four(at) == kEndMark && bytes.two(at + 20) == last - at) return at;
  }
  return std::nullopt;
}

// Where the directory lies, by the record at `end`, or by the larger one before it.
std::optional<Extent> extent(std::string_view archive, size_t end) {
  const Bytes bytes(archive);
  const Extent small{bytes.two(end + 10), bytes.four(end + 16), bytes.four(end + 12)};
  const bool one_file = bytes.two(end + 4) == 0 && bytes.two(end + 6) == 0;
  const bool large =
      small.count == kCountElsewhere || small.begin == kElsewhere || small.size == kElsewhere;
  if (!large) return one_file ? std::optional(small) : std::nullopt;
  if (end < kLocator || bytes.four(end - kLocator) != kLocatorMark) return std::nullopt;
  const uint64_t at = bytes.eight(end - kLocator + 8);
  const bool there = archive.size() >= kLargeEnd && at <= archive.size() - kLargeEnd;
  if (!there || bytes.four(at) != kLargeEndMark) return std::nullopt;
  return Extent{bytes.eight(at + 32), bytes.eight(at + 48), bytes.eight(at + 40)};
}

// Takes from the extra fields what did not fit; false where it is not there.
bool take_large_numbers(std::string_view extra, ZipEntry& entry) {
  uint64_t* const wanted[] = {&entry.size, &entry.packed_size, &entry.header};
  while (extra.size() >= 4) {
    const Bytes head(extra);
    const size_t size = head.two(2);
    std::string_view field = extra.substr(4, size);
    extra.remove_prefix(std::min(extra.size(), 4 + size));
    if (head.two(0) != kLargeNumbers) continue;
    for (uint64_t* number : wanted) {
      if (*number != kElsewhere) continue;
      if (field.size() < 8) return false;
      *number = Bytes(field).eight(0);
      field.remove_prefix(8);
    }
  }
  return std::none_of(std::begin(wanted), std::end(wanted),
                      [](const uint64_t* number) { return *number == kElsewhere; });
}

// Takes the next entry from `rest`; nothing where none is there.
std::optional<ZipEntry> take_entry(std::string_view& rest) {
  const Bytes bytes(rest);
  const size_t name = bytes.two(28), extra = bytes.two(30), comment = bytes.two(32);
  const size_t size = kCentral + name + extra + comment;
  if (bytes.four(0) != kCentralMark || size > rest.size()) return std::nullopt;
  ZipEntry entry{rest.substr(kCentral, name),
                 bytes.two(10),
                 (bytes.two(8) & kEncryptedFlags) != 0,
                 bytes.four(16),
                 bytes.four(20),
                 bytes.four(24),
                 bytes.four(42)};
  const bool large =
      entry.size == kElsewhere || entry.packed_size == kElsewhere || entry.header == kElsewhere;
  if (large && !take_large_numbers(rest.substr(kCentral + name, extra), entry)) return std::nullopt;
  rest.remove_prefix(size);
  return entry;
}

// No two entries share a byte: a few packed bytes could else unpack to any number of files.
void set_ends(std::vector<ZipEntry>& entries, uint64_t directory_begin) {
  std::vector<ZipEntry*> from_the_last;
  from_the_last.reserve(entries.size());
  for (ZipEntry& entry : entries) from_the_last.push_back(&entry);
  std::sort(from_the_last.begin(), from_the_last.end(),
            [](const ZipEntry* a, const ZipEntry* b) { return a->header > b->header; });
  uint64_t end = directory_begin;
  for (ZipEntry* entry : from_the_last) {
    entry->end = end;
    end = std::min(end, entry->header);
  }
}

ZipDirectory damaged() {
  ZipDirectory directory;
  directory.fault = "the archive of the workbook is damaged or cut off";
  return directory;
}

}  // namespace

ZipDirectory zip_directory(std::string_view archive, uint64_t max_entries) {
  const std::optional<size_t> end = end_record(archive);
  const std::optional<Extent> where = end ? extent(archive, *end) : std::nullopt;
  if (!where || where->begin > *end || where->size > *end - where->begin) return damaged();
  ZipDirectory directory;
  if (where->count > max_entries) {
    directory.fault = "the workbook holds " + std::to_string(where->count) + " files; at most " +
                      std::to_string(max_entries) + " are read (max_entries)";
    return directory;
  }
  std::string_view rest = archive.substr(where->begin, where->size);
  for (uint64_t left = where->count; left > 0; --left) {
    std::optional<ZipEntry> entry = take_entry(rest);
    if (!entry) return damaged();
    directory.entries.push_back(*entry);
  }
  set_ends(directory.entries, where->begin);
  return rest.empty() ? directory : damaged();
}

std::optional<std::string_view> packed_bytes(std::string_view archive, const ZipEntry& entry) {
  if (entry.header > entry.end || entry.end > archive.size()) return std::nullopt;
  const std::string_view packed = archive.substr(entry.header, entry.end - entry.header);
  const Bytes bytes(packed);
  const size_t begin = kLocal + bytes.two(26) + bytes.two(28);
  const bool same = bytes.four(0) == kLocalMark && bytes.two(8) == entry.method &&
                    packed.size() >= begin && packed.substr(kLocal, bytes.two(26)) == entry.name;
  if (!same || entry.packed_size > packed.size() - begin) return std::nullopt;
  return packed.substr(begin, entry.packed_size);
}

}  // namespace girdle::sheet
