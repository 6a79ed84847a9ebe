#include "base/fold.h"

#include <gtest/gtest.h>
#include <re2/re2.h>

#include <map>
#include <vector>

namespace girdle::base {
namespace {

std::string folded(std::string_view text, Folding folding) {
  std::string out;
  fold(text, folding, out);
  return out;
}
std::string lower(std::string_view text) { return folded(text, {.letter_case = true}); }
std::string spaced(std::string_view text) { return folded(text, {.space = true}); }

std::string utf8(char32_t code) {
  std::string out;
  const auto put = [&](char32_t byte) { out += static_cast<char>(byte); };
  if (code < 0x80) {
    put(code);
  } else if (code < 0x800) {
    put(0xC0 | code >> 6), put(0x80 | (code & 0x3F));
  } else {
    put(0xE0 | code >> 12), put(0x80 | (code >> 6 & 0x3F)), put(0x80 | (code & 0x3F));
  }
  return out;
}

// The blocks that fold.h names.
std::vector<char32_t> letters() {
  std::vector<char32_t> out;
  for (const auto& [first, last] : {std::pair(0, 0x58F), {0x1E00, 0x1EFF}, {0xFF21, 0xFF5A}}) {
    for (int code = first; code <= last; ++code) out.push_back(static_cast<char32_t>(code));
  }
  return out;
}

// RE2's own table of Unicode's simple case folding: two letters are the same exactly when a pattern
// of the one, without case, matches the other.
TEST(Fold, TakesLettersForTheSameExactlyWhenRe2Does) {
  RE2::Options without_case;
  without_case.set_case_sensitive(false);
  std::map<std::string, std::string> same;  // by fold
  for (const char32_t code : letters()) same[lower(utf8(code))] += utf8(code);
  int pairs = 0;
  for (const char32_t code : letters()) {
    const RE2 one(RE2::QuoteMeta(utf8(code)), without_case);
    ASSERT_TRUE(one.ok()) << static_cast<uint32_t>(code);
    std::string matching;
    for (const char32_t other : letters()) {
      if (RE2::FullMatch(utf8(other), one)) matching += utf8(other);
    }
    EXPECT_EQ(same[lower(utf8(code))], matching) << std::hex << static_cast<uint32_t>(code);
    pairs += matching != utf8(code);
  }
  EXPECT_GT(pairs, 1000);
}

TEST(Fold, FoldsWords) {
  EXPECT_EQ(lower("Natural"), "natural");
  EXPECT_EQ(lower("NATÜRLICH"), "natürlich");
  EXPECT_EQ(lower("ПРИРОДНЫЙ"), "природный");
  EXPECT_EQ(lower("ΦΥΣΙΚΌΣ"), lower("φυσικός"));  // a final sigma is a sigma
  EXPECT_EQ(lower("Straße"), "straße");           // one letter for one: not strasse
  EXPECT_EQ(lower("İ"), "İ");                     // of Turkish: no i
  EXPECT_EQ(lower("A1-/ b"), "a1-/ b");
  EXPECT_EQ(lower(""), "");
}

// White_Space of PropList.txt: what RE2 has in \p{Z}, and the controls HT to CR and NEL.
TEST(Fold, TakesSpacesForTheSameExactlyWhenUnicodeDoes) {
  const RE2 space("[\\p{Z}\\x{9}-\\x{D}\\x{85}]");
  int spaces = 0;
  for (char32_t code = 1; code < 0x10000; ++code) {
    if (code >= 0xD800 && code < 0xE000) continue;
    const std::string text = "a" + utf8(code) + "b";
    const bool is_space = RE2::FullMatch(utf8(code), space);
    EXPECT_EQ(spaced(text), is_space ? "a b" : text) << std::hex << static_cast<uint32_t>(code);
    spaces += is_space;
  }
  EXPECT_EQ(spaces, 25);
}

TEST(Fold, MakesOneSpaceOfARunAndNoneOfTheEnds) {
  EXPECT_EQ(spaced("  lab \t\n grown\xC2\xA0"), "lab grown");
  EXPECT_EQ(spaced(" \t "), "");
  EXPECT_EQ(spaced("a\xE2\x80\xAF\xE3\x80\x80"
                   "b"),
            "a b");
  EXPECT_EQ(folded(" LAB  Grown", {.letter_case = true, .space = true}), "lab grown");
}

TEST(Fold, LeavesTheRest) {
  EXPECT_EQ(folded(" A  b ", {}), " A  b ");
  EXPECT_EQ(lower(" A  B "), " a  b ");
  EXPECT_EQ(spaced("A  B"), "A B");
  // Bytes that are not UTF-8, and characters of four bytes.
  for (const char* text : {"\xC3", "\xC3(", "\xE2\x82", "\xFF", "\xC0\x80", "\xE0\x80\x80", "\x80",
                           "\xF0\x90\x90\x80", "\xED\xA0\x80"}) {
    EXPECT_EQ(folded(text, {.letter_case = true, .space = true}), text);
  }
}

}  // namespace
}  // namespace girdle::base
