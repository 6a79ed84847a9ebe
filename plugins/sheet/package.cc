#include "sheet/package.h"

#include <zlib.h>

#include <new>
#include <optional>
#include <utility>

#include "xml/characters.h"

namespace girdle::sheet {

using xml::in_lower_case;

namespace {

constexpr size_t kPiece = 64 << 10;
constexpr uint64_t kFree = 1 << 20;  // bytes of a part for which the ratio does not count

constexpr std::string_view kZip("PK\x03\x04", 4);
constexpr std::string_view kCompoundFile("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", 8);
// The stream in which an encrypted workbook lies (ECMA-376, part 4; MS-OFFCRYPTO, 2.3), in UTF-16.
constexpr std::string_view kEncryptedPackage("E\0n\0c\0r\0y\0p\0t\0e\0d\0P\0a\0c\0k\0a\0g\0e\0",
                                             32);

constexpr uint16_t kStored = 0;
constexpr uint16_t kDeflated = 8;
constexpr std::string_view kDamaged = "the archive of the workbook is damaged or cut off";
constexpr std::string_view kEncrypted =
    "the workbook is encrypted with a password; save it without one";

// What bytes are that begin no zip archive.
std::string no_archive(std::string_view bytes) {
  if (!bytes.starts_with(kCompoundFile))
    return "no workbook of Office Open XML (.xlsx): it does not begin as a zip archive does";
  if (bytes.find(kEncryptedPackage) != std::string_view::npos) return std::string(kEncrypted);
  return "a workbook of the older binary form (.xls), or another such file; save it as .xlsx";
}

// One run of zlib's inflate (RFC 1951), without zlib's own head.
class Inflater {
 public:
  explicit Inflater(std::string_view packed) : stream_() {
    // zlib does not write where it reads.
    stream_.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));
    stream_.avail_in = static_cast<uInt>(packed.size());
    if (inflateInit2(&stream_, -MAX_WBITS) != Z_OK) throw std::bad_alloc();
  }
  ~Inflater() { inflateEnd(&stream_); }
  Inflater(const Inflater&) = delete;
  Inflater& operator=(const Inflater&) = delete;

  // How many bytes came; fewer than there is room for at the end, or where nothing more can come.
  size_t take(char* to, size_t room) {
    stream_.next_out = reinterpret_cast<Bytef*>(to);
    stream_.avail_out = static_cast<uInt>(room);
    const int result = ended_ ? Z_STREAM_END : inflate(&stream_, Z_NO_FLUSH);
    if (result == Z_MEM_ERROR) throw std::bad_alloc();
    ended_ = result == Z_STREAM_END;
    failed_ = failed_ || (result != Z_OK && !ended_);
    return room - stream_.avail_out;
  }
  // All that was packed is unpacked, and nothing of it is left.
  bool complete() const { return ended_ && !failed_ && stream_.avail_in == 0; }
  bool over() const { return ended_ || failed_; }

 private:
  z_stream stream_;
  bool ended_ = false;
  bool failed_ = false;
};

uint32_t checksum(uint32_t before, std::string_view bytes) {
  return static_cast<uint32_t>(
      crc32(before, reinterpret_cast<const Bytef*>(bytes.data()), static_cast<uInt>(bytes.size())));
}

}  // namespace

std::unique_ptr<Package> Package::open(std::string_view bytes, const PackageLimits& limits,
                                       std::string& fault) {
  if (!bytes.starts_with(kZip)) {
    fault = no_archive(bytes);
    return nullptr;
  }
  ZipDirectory directory = zip_directory(bytes, limits.max_entries);
  fault = directory.fault;
  if (!fault.empty()) return nullptr;
  return std::unique_ptr<Package>(new Package(bytes, limits, std::move(directory)));
}

Package::Package(std::string_view bytes, const PackageLimits& limits, ZipDirectory directory)
    : bytes_(bytes), limits_(limits), directory_(std::move(directory)) {
  for (size_t index = 0; index < directory_.entries.size(); ++index) {
    const auto [place, is_new] =
        places_.try_emplace(in_lower_case(directory_.entries[index].name), Place{index, false});
    if (!is_new) place->second.twice = true;
  }
}

bool Package::has(std::string_view part) const { return places_.contains(in_lower_case(part)); }

std::string Package::read(std::string_view part, const Take& take) const {
  const auto found = places_.find(in_lower_case(part));
  if (found == places_.end()) return "it is not in the workbook";
  if (found->second.twice) return "it is twice in the workbook";
  const ZipEntry& entry = directory_.entries[found->second.index];
  if (std::string fault = fault_of(entry); !fault.empty()) return fault;
  const std::optional<std::string_view> packed = packed_bytes(bytes_, entry);
  return packed ? unpack(entry, *packed, take) : std::string(kDamaged);
}

// Why it is not unpacked; empty where it is.
std::string Package::fault_of(const ZipEntry& entry) const {
  if (entry.is_encrypted) return std::string(kEncrypted);
  if (entry.method != kStored && entry.method != kDeflated)
    return "it is packed in a way that Office Open XML does not have";
  if (entry.size > limits_.max_inflated) {
    return "it is " + std::to_string(entry.size) + " bytes long, unpacked; at most " +
           std::to_string(limits_.max_inflated) + " are read (max_inflated)";
  }
  if (entry.size > kFree && entry.size / limits_.max_ratio > entry.packed_size) {
    return "it unpacks to more than " + std::to_string(limits_.max_ratio) +
           " times its bytes (max_ratio)";
  }
  return {};
}

// What the directory says of a part need not be true.
std::string Package::unpack(const ZipEntry& entry, std::string_view packed,
                            const Take& take) const {
  const bool stored = entry.method == kStored;
  if (stored && packed.size() != entry.size) return std::string(kDamaged);
  Inflater inflater(stored ? std::string_view() : packed);
  std::string piece(kPiece, '\0');
  uint64_t unpacked = 0;
  uint32_t crc = 0;
  while (stored ? unpacked < entry.size : !inflater.over()) {
    std::string_view bytes = packed.substr(0, kPiece);
    if (stored) {
      packed.remove_prefix(bytes.size());
    } else {
      bytes = std::string_view(piece).substr(0, inflater.take(piece.data(), piece.size()));
    }
    unpacked += bytes.size();
    if (unpacked > entry.size) return std::string(kDamaged);
    crc = checksum(crc, bytes);
    if (!take(bytes)) return {};
  }
  const bool whole = unpacked == entry.size && crc == entry.crc && (stored || inflater.complete());
  return whole ? "" : std::string(kDamaged);
}

}  // namespace girdle::sheet
