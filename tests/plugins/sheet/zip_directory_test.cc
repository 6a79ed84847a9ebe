// APPNOTE.TXT 6.3.10 (the zip format), 4.3.7 to 4.3.16 and 4.5.3; against libzip 1.7.3.
#include "sheet/zip_directory.h"

#include <gmock/gmock.h>
#include <zip.h>

#include "plugins/corpus.h"
#include "plugins/sheet/workbook_file.h"

namespace girdle::sheet {
namespace {

using testing::HasSubstr;

std::string number(uint64_t value, size_t size) {
  std::string bytes;
  for (size_t i = 0; i < size; ++i) bytes.push_back(static_cast<char>(value >> (8 * i)));
  return bytes;
}

// What libzip finds: name, method, sizes and checksum of each.
std::vector<std::string> by_libzip(const std::string& bytes) {
  zip_source_t* source = zip_source_buffer_create(bytes.data(), bytes.size(), 0, nullptr);
  zip_t* archive = zip_open_from_source(source, ZIP_RDONLY, nullptr);
  if (archive == nullptr) {
    zip_source_free(source);
    return {"damaged"};
  }
  std::vector<std::string> found;
  for (zip_int64_t i = 0; i < zip_get_num_entries(archive, 0); ++i) {
    zip_stat_t stat;
    zip_stat_index(archive, static_cast<zip_uint64_t>(i), 0, &stat);
    found.push_back(stat.name + (" " + std::to_string(stat.comp_method)) + " " +
                    std::to_string(stat.comp_size) + " " + std::to_string(stat.size) + " " +
                    std::to_string(stat.crc));
  }
  zip_discard(archive);
  return found;
}

std::vector<std::string> by_us(const std::string& bytes) {
  const ZipDirectory directory = zip_directory(bytes, 1000);
  if (!directory.fault.empty()) return {"damaged"};
  std::vector<std::string> found;
  for (const ZipEntry& one : directory.entries) {
    EXPECT_TRUE(packed_bytes(bytes, one)) << one.name;
    found.push_back(std::string(one.name) + " " + std::to_string(one.method) + " " +
                    std::to_string(one.packed_size) + " " + std::to_string(one.size) + " " +
                    std::to_string(one.crc));
  }
  return found;
}

// An archive of one stored file whose directory has all numbers where those of ZIP64 are.
std::string large_form() {
  const std::string name = "a", bytes = "the bytes";
  const std::string crc = number(0xE1D1EFDE, 4);
  const std::string local = "PK\x03\x04" + number(45, 2) + number(0, 8) + crc +
                            number(bytes.size(), 4) + number(bytes.size(), 4) + number(1, 2) +
                            number(0, 2) + name + bytes;
  const std::string extra = number(0x7777, 2) + number(2, 2) + "xx" + number(1, 2) + number(24, 2) +
                            number(bytes.size(), 8) + number(bytes.size(), 8) + number(0, 8);
  const std::string central = "PK\x01\x02" + number(45, 2) + number(45, 2) + number(0, 8) + crc +
                              number(UINT32_MAX, 4) + number(UINT32_MAX, 4) + number(1, 2) +
                              number(extra.size(), 2) + number(0, 2) + number(0, 2) + number(0, 2) +
                              number(0, 4) + number(UINT32_MAX, 4) + name + extra;
  const uint64_t begin = local.size(), end = begin + central.size();
  const std::string large_end = "PK\x06\x06" + number(44, 8) + number(45, 2) + number(45, 2) +
                                number(0, 4) + number(0, 4) + number(1, 8) + number(1, 8) +
                                number(central.size(), 8) + number(begin, 8);
  const std::string locator = "PK\x06\x07" + number(0, 4) + number(end, 8) + number(1, 4);
  return local + central + large_end + locator + "PK\x05\x06" + number(0, 4) + number(0xFFFF, 2) +
         number(0xFFFF, 2) + number(UINT32_MAX, 4) + number(UINT32_MAX, 4) + number(0, 2);
}

TEST(ZipDirectory, FindsWhatLibzipFinds) {
  size_t archives = 0;
  for (const std::string folder : {"sheet/accept", "sheet/aside"}) {
    for (const plugins_test::Case& one : plugins_test::corpus(folder, "xlsx")) {
      SCOPED_TRACE(one.name);
      if (one.bytes.empty()) continue;  // for libzip an archive without entries
      EXPECT_EQ(by_us(one.bytes), by_libzip(one.bytes));
      archives += by_us(one.bytes).size() > 1;
    }
  }
  EXPECT_GE(archives, 12u);
  for (const bool packed : {false, true}) {
    const std::string bytes =
        archive({{"a", "1"}, {"b/c", std::string(1000, 'x')}, {"", ""}}, packed);
    EXPECT_EQ(by_us(bytes), by_libzip(bytes));
  }
}

TEST(ZipDirectory, ReadsTheLargerNumbersOfZip64) {
  const std::string bytes = large_form();
  ASSERT_EQ(by_libzip(bytes).size(), 1u);
  EXPECT_EQ(by_us(bytes), by_libzip(bytes));
  const ZipDirectory directory = zip_directory(bytes, 10);
  EXPECT_EQ(packed_bytes(bytes, directory.entries[0]), "the bytes");
  for (size_t i = bytes.size() - 98; i < bytes.size(); ++i) {
    std::string bad = bytes;
    bad[i] = static_cast<char>(bad[i] ^ 0x55);
    EXPECT_TRUE(by_us(bad) == std::vector<std::string>{"damaged"} || by_us(bad) == by_us(bytes))
        << i;
  }
}

TEST(ZipDirectory, PassesOverAComment) {
  std::string bytes = archive({{"a", "1"}});
  bytes.replace(bytes.size() - 2, 2, number(7, 2));
  EXPECT_EQ(by_us(bytes + "remarks"), by_libzip(bytes + "remarks"));
  EXPECT_EQ(by_us(bytes + "remark").front(), "damaged");
}

TEST(ZipDirectory, RefusesAnArchiveThatIsCut) {
  for (const std::string& whole : {archive({{"a", "1"}, {"b", "2"}}), large_form()}) {
    for (size_t size = 0; size < whole.size(); ++size)
      EXPECT_NE(zip_directory(whole.substr(0, size), 10).fault, "") << size;
    EXPECT_NE(zip_directory(whole + "x", 10).fault, "");
  }
}

TEST(ZipDirectory, ReadsNoMoreEntriesThanItIsTold) {
  EXPECT_THAT(zip_directory(archive({{"a", "1"}, {"b", "2"}}), 1).fault,
              HasSubstr("holds 2 files"));
}

// Programs differ in which of two names, or two places, they believe.
TEST(ZipDirectory, RefusesAnEntryWhoseOwnHeaderDiffers) {
  const std::string whole = archive({{"a", "1"}});
  const auto is_there = [](const std::string& bytes) {
    const ZipDirectory directory = zip_directory(bytes, 10);
    return directory.fault.empty() && packed_bytes(bytes, directory.entries[0]).has_value();
  };
  EXPECT_TRUE(is_there(whole));
  for (const size_t at : {size_t{0}, size_t{8}, size_t{26}, size_t{28}, size_t{30}}) {
    std::string bad = whole;
    bad[at] = static_cast<char>(bad[at] ^ 1);
    EXPECT_FALSE(is_there(bad)) << at;
  }
}

// Three names for one file, or for files that lie in each other: a kilobyte could unpack to
// terabytes.
TEST(ZipDirectory, RefusesEntriesThatShareBytes) {
  const std::string inner = archive({{"b", std::string(50, 'x')}});
  const std::string inner_file = inner.substr(0, inner.find("PK\x01\x02"));
  const std::string whole = archive({{"a", inner_file}, {"b", std::string(50, 'x')}});
  ZipDirectory directory = zip_directory(whole, 10);
  ASSERT_EQ(directory.entries.size(), 2u);
  for (const ZipEntry& one : directory.entries) EXPECT_TRUE(packed_bytes(whole, one)) << one.name;
  // The directory's second entry names the file inside of the first one.
  std::string bytes = whole;
  const size_t second = bytes.rfind("PK\x01\x02");
  bytes.replace(second + 42, 4, number(bytes.find(inner_file), 4));
  EXPECT_EQ(by_libzip(bytes), by_libzip(whole));
  directory = zip_directory(bytes, 10);
  ASSERT_EQ(directory.entries.size(), 2u);
  EXPECT_FALSE(packed_bytes(bytes, directory.entries[0]));
  EXPECT_TRUE(packed_bytes(bytes, directory.entries[1]));
}

TEST(ZipDirectory, TellsEncryptedEntries) {
  std::string bytes = archive({{"a", "1"}});
  EXPECT_FALSE(zip_directory(bytes, 10).entries[0].is_encrypted);
  bytes[bytes.find("PK\x01\x02") + 8] |= 1;
  EXPECT_TRUE(zip_directory(bytes, 10).entries[0].is_encrypted);
}

}  // namespace
}  // namespace girdle::sheet
