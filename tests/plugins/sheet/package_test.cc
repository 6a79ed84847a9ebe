#include "sheet/package.h"

#include <gmock/gmock.h>

#include "plugins/sheet/workbook_file.h"

namespace girdle::sheet {
namespace {

using testing::HasSubstr;

struct Read {
  std::string bytes;
  std::string fault;
};

Read read(std::string_view archive_bytes, std::string_view part, const PackageLimits& limits = {}) {
  Read made;
  const auto package = Package::open(archive_bytes, limits, made.fault);
  if (!package) return made;
  made.fault = package->read(part, [&](std::string_view bytes) {
    made.bytes += bytes;
    return true;
  });
  return made;
}

TEST(Package, GivesItsPartsWithoutRegardToTheCaseOfLetters) {
  for (const bool packed : {false, true}) {
    const std::string bytes =
        archive({{"xl/Workbook.xml", "one"}, {"b", std::string(300'000, 'x')}}, packed);
    EXPECT_EQ(read(bytes, "XL/workbook.xml").bytes, "one");
    EXPECT_EQ(read(bytes, "b").bytes, std::string(300'000, 'x'));
    EXPECT_EQ(read(bytes, "b").fault, "");
    EXPECT_THAT(read(bytes, "c").fault, HasSubstr("not in the workbook"));
  }
}

TEST(Package, StopsWhenNoMoreIsWanted) {
  const std::string bytes = archive({{"a", std::string(300'000, 'x')}});
  std::string fault;
  const auto package = Package::open(bytes, {}, fault);
  ASSERT_TRUE(package);
  int calls = 0;
  EXPECT_EQ(package->read("a", [&](std::string_view) { return ++calls < 2; }), "");
  EXPECT_EQ(calls, 2);
}

TEST(Package, SaysWhatOtherFilesAre) {
  EXPECT_THAT(read("item,carat\n", "a").fault, HasSubstr("does not begin as a zip archive"));
  const std::string compound("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", 8);
  EXPECT_THAT(read(compound + std::string(600, '\0'), "a").fault, HasSubstr("(.xls)"));
  std::string name;
  for (const char c : std::string("EncryptedPackage")) name += {c, '\0'};
  EXPECT_THAT(read(compound + std::string(600, '\0') + name, "a").fault, HasSubstr("password"));
}

TEST(Package, RefusesMoreThanItsLimits) {
  const std::string many = archive({{"a", "1"}, {"b", "2"}, {"c", "3"}});
  EXPECT_THAT(read(many, "a", {.max_entries = 2}).fault, HasSubstr("holds 3 files; at most 2"));
  EXPECT_THAT(read(archive({{"a", "12345"}}), "a", {.max_inflated = 4}).fault,
              HasSubstr("5 bytes long, unpacked; at most 4"));
  const std::string bomb = archive({{"a", std::string(4 << 20, '\0')}}, true);
  EXPECT_LT(bomb.size(), 10'000u);
  EXPECT_THAT(read(bomb, "a").fault, HasSubstr("more than 100 times its bytes"));
  EXPECT_EQ(read(bomb, "a", {.max_ratio = 2000}).bytes.size(), size_t{4} << 20);
  EXPECT_EQ(read(archive({{"a", std::string(1 << 20, '\0')}}, true), "a").fault, "");
}

// Where a local header or the central directory says another size than the bytes have.
TEST(Package, RefusesAPartThatIsNotAsLongAsItSays) {
  const std::string whole = archive({{"a", std::string(2000, 'x')}}, true);
  const std::string size("\xD0\x07\0\0", 4);
  for (const char* other : {"\xD1\x07", "\xCF\x07", "\x01\x00"}) {
    std::string bytes = whole;
    const size_t central = bytes.rfind(size);
    ASSERT_NE(central, std::string::npos);
    bytes.replace(central, 2, other, 2);
    EXPECT_NE(read(bytes, "a").fault, "");
  }
}

TEST(Package, RefusesWhatIsDamagedAnywhere) {
  const std::string whole = archive({{"a", "the bytes of a part"}, {"b", "another"}}, false);
  for (size_t size = 4; size < whole.size(); ++size)
    EXPECT_NE(read(whole.substr(0, size), "a").fault, "") << size;
  size_t refused = 0;
  for (size_t i = 0; i < whole.size(); ++i) {
    std::string bytes = whole;
    bytes[i] = static_cast<char>(bytes[i] ^ 0x41);
    const Read made = read(bytes, "a");
    if (made.fault.empty()) {
      EXPECT_EQ(made.bytes, "the bytes of a part") << i;
    } else {
      ++refused;
    }
  }
  EXPECT_GT(refused, 40u);
}

// APPNOTE.TXT 4.4.5: 9 is Deflate64, 12 bzip2; ECMA-376, part 2, has 0 and 8 alone.
TEST(Package, RefusesOtherWaysOfPackingAndEncryption) {
  for (const char method : {1, 9, 12, 14, 93, 99}) {
    std::string bytes = archive({{"a", "the bytes of a part"}}, true);
    bytes[8] = bytes[bytes.rfind("PK\x01\x02") + 10] = method;
    EXPECT_THAT(read(bytes, "a").fault, HasSubstr("packed in a way that Office Open XML"));
  }
  std::string bytes = archive({{"a", "the bytes of a part"}}, true);
  bytes[6] = bytes[bytes.rfind("PK\x01\x02") + 8] = 1;
  EXPECT_THAT(read(bytes, "a").fault, HasSubstr("encrypted with a password"));
}

TEST(Package, RefusesAPartThatReachesIntoAnother) {
  const std::string inner = archive({{"b", "another part"}});
  const std::string file = inner.substr(0, inner.find("PK\x01\x02"));
  std::string bytes = archive({{"a", file}, {"b", "another part"}});
  EXPECT_EQ(read(bytes, "a").bytes, file);
  const size_t second = bytes.rfind("PK\x01\x02");
  bytes[second + 42] = static_cast<char>(bytes.find(file));
  EXPECT_EQ(read(bytes, "b").bytes, "another part");
  EXPECT_THAT(read(bytes, "a").fault, HasSubstr("damaged"));
}

// Two parts of one name: programs differ in which they take.
TEST(Package, RefusesAPartThatIsThereTwice) {
  EXPECT_THAT(read(archive({{"a", "1"}, {"A", "2"}}), "a").fault, HasSubstr("twice"));
}

}  // namespace
}  // namespace girdle::sheet
