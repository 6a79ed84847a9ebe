#include "delimited/code_page.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <sys/resource.h>
#include <unistd.h>

#include "plugins/by_iconv.h"

namespace girdle::delimited {
namespace {

using plugins_test::by_iconv;
using testing::ElementsAreArray;
using testing::IsEmpty;

CodePage page(std::string_view name) {
  std::optional<CodePage> found = CodePage::named(name);
  EXPECT_TRUE(found) << name;
  return found.value();
}

std::string decoded(const CodePage& page, std::string_view bytes) {
  const std::unique_ptr<Decoder> decoder = page.decoder();
  std::string text(decoder->decode(bytes));
  text += decoder->finish();
  return text;
}

// C1 controls and private use characters, which we take for none.
bool is_no_text(std::string_view utf8) {
  const bool control = utf8.size() == 2 && utf8[0] == '\xC2' && utf8[1] < '\xA0';
  const bool private_use = utf8.size() == 3 && utf8 >= "\xEE\x80\x80" && utf8 <= "\xEF\xA3\xBF";
  return control || private_use || utf8 >= "\xF3\xB0";
}

struct OneByte {
  const char* name;
  const char* iconv;
  std::vector<int> other;  // bytes at which the C library differs, and why
};

TEST(CodePage, SingleBytesAreThoseOfTheCLibrary) {
  const OneByte pages[] = {
      {"windows-1250", "CP1250", {}},
      {"windows-1253",
       "CP1253",
       {0xAA}},  // ICU: feminine ordinal; Python's codec has nothing either
      {"windows-1254", "CP1254", {}},
      {"windows-1255", "CP1255", {}},
      {"windows-1256", "CP1256", {}},
      {"windows-1257", "CP1257", {}},
      {"windows-1258", "CP1258", {}},
      // The C library lacks what Unicode's CP874.TXT and WHATWG's index-windows-874.txt have: the
      // euro sign, the ellipsis, quotation marks, dashes.
      {"windows-874", "TIS-620", {0x80, 0x85, 0x91, 0x92, 0x93, 0x94, 0x95, 0x96, 0x97, 0xA0}},
      {"iso-8859-1", "ISO-8859-1", {}},
      {"iso-8859-2", "ISO-8859-2", {}},
      {"iso-8859-4", "ISO-8859-4", {}},
      {"iso-8859-5", "ISO-8859-5", {}},
      {"iso-8859-7", "ISO-8859-7", {}},
      {"iso-8859-8", "ISO-8859-8", {}},
      {"iso-8859-9", "ISO-8859-9", {}},
      {"iso-8859-13", "ISO-8859-13", {}},
      {"iso-8859-15", "ISO-8859-15", {}},
      {"ibm437", "IBM437", {}},
      {"ibm850", "IBM850", {}},
      {"ibm852", "IBM852", {0xAA}},  // ICU has no character there; Unicode's CP852.TXT: not sign
      {"ibm858", "CP858", {}},
      {"ibm866", "IBM866", {}},
      {"koi8-r", "KOI8-R", {}},
      {"koi8-u", "KOI8-U", {}},
      {"macintosh", "MACINTOSH", {0xC6}},  // WHATWG's index-macintosh.txt: increment, not Delta
  };
  for (const OneByte& one : pages) {
    const CodePage ours = page(one.name);
    ASSERT_NE(ours.upper_half(), nullptr) << one.name;
    std::vector<int> other;
    for (int byte = 0x80; byte < 0x100; ++byte) {
      const std::string text(1, static_cast<char>(byte));
      std::optional<std::string> reference = by_iconv(one.iconv, text);
      if (reference && is_no_text(*reference)) reference.reset();
      std::optional<std::string> got;
      if (can_decode(text, *ours.upper_half()))
        append_decoded(text, *ours.upper_half(), got.emplace());
      if (got != reference) other.push_back(byte);
    }
    EXPECT_THAT(other, ElementsAreArray(one.other)) << one.name;
  }
}

struct MoreBytes {
  const char* name;
  const char* iconv;
};

// Every pair of bytes of which the first is not ASCII.
TEST(CodePage, PairsOfBytesAreThoseOfTheCLibrary) {
  const MoreBytes pages[] = {{"gb18030", "GB18030"},
                             {"gbk", "GB18030"},
                             {"big5", "BIG5"},
                             {"shift_jis", "CP932"},
                             {"euc-kr", "UHC"}};
  for (const auto& [name, iconv_name] : pages) {
    const CodePage ours = page(name);
    EXPECT_EQ(ours.upper_half(), nullptr);
    const iconv_t handle = iconv_open("UTF-8", iconv_name);
    ASSERT_NE(handle, reinterpret_cast<iconv_t>(-1));
    size_t same = 0;
    std::vector<std::string> other;
    for (int lead = 0x80; lead < 0x100; ++lead) {
      for (int trail = 0; trail < 0x100; ++trail) {
        const std::string bytes = {static_cast<char>(lead), static_cast<char>(trail)};
        char out[16];
        char* in_at = const_cast<char*>(bytes.data());
        char* out_at = out;
        size_t in_left = bytes.size();
        size_t out_left = sizeof out;
        iconv(handle, nullptr, nullptr, nullptr, nullptr);
        const bool good =
            iconv(handle, &in_at, &in_left, &out_at, &out_left) != static_cast<size_t>(-1);
        const std::string reference(out, out_at);
        const std::string got = decoded(ours, bytes);
        const bool taken = is_utf8(got);
        // Where we have none the C library may have one: ICU has private use characters there.
        if (taken && good && got == reference) ++same;
        if (taken && (!good || got != reference)) other.push_back(bytes);
      }
    }
    iconv_close(handle);
    EXPECT_THAT(other, IsEmpty()) << name;
    EXPECT_GT(same, 8000u) << name;
  }
}

TEST(CodePage, FourBytesOfGb18030AreThoseOfTheCLibrary) {
  const CodePage ours = page("gb18030");
  size_t same = 0;
  // The first of every fifth block of ten characters, up to U+10FFFF at E3 32 9A 35.
  for (int a = 0x81; a <= 0xE3; ++a) {
    for (int b = 0x30; b <= 0x39; ++b) {
      for (int c = 0x81; c <= 0xFE; c += 5) {
        const std::string bytes = {static_cast<char>(a), static_cast<char>(b), static_cast<char>(c),
                                   '\x30'};
        const std::string got = decoded(ours, bytes);
        if (!is_utf8(got)) continue;
        EXPECT_EQ(got, by_iconv("GB18030", bytes).value_or("none"))
            << testing::PrintToString(bytes);
        ++same;
      }
    }
  }
  EXPECT_GT(same, 10000u);
}

TEST(CodePage, SamplesAreThoseOfOtherLibraries) {
  // Made with Python 3.11's codecs.
  EXPECT_EQ(decoded(page("gb18030"), "\xCC\xEC\xC8\xBB\xD7\xEA\xCA\xAF"), "天然钻石");
  EXPECT_EQ(decoded(page("gb18030"), "\xA2\xE3"), "€");
  EXPECT_EQ(decoded(page("gb18030"), "\x84\x31\x95\x33"), "\xEF\xBB\xBF");
  EXPECT_EQ(page("gb18030").mark(), "\x84\x31\x95\x33");
  EXPECT_EQ(page("big5").mark(), "");
}

TEST(CodePage, TellsHowManyBytesOfTheDocumentATextCameFrom) {
  const std::unique_ptr<Decoder> decoder = page("gb18030").decoder();
  const std::string_view text = decoder->decode("a\xCC\xEC\x94\x39\xD7\x36\xFF,");
  ASSERT_EQ(text, "a天💎\xFF,");
  EXPECT_EQ(decoder->source_bytes(text), 9u);
  EXPECT_EQ(decoder->source_bytes(text.substr(1, 3)), 2u);
  EXPECT_EQ(decoder->source_bytes(text.substr(4, 4)), 4u);
  EXPECT_EQ(decoder->source_bytes(text.substr(8)), 2u);
  EXPECT_EQ(decoder->source_bytes(text.substr(0, 0)), 0u);
}

TEST(CodePage, TextIsTheSameHoweverTheBytesAreCut) {
  const std::string bytes = "a\xCC\xEC\x94\x39\xD7\x36,\x81\x30\n\x81\n\xFF\x80|\x81|\x84\x31\x95";
  for (const char* name : {"gb18030", "big5", "shift_jis", "euc-kr"}) {
    const CodePage ours = page(name);
    const std::string whole = decoded(ours, bytes);
    for (size_t first = 0; first <= bytes.size(); ++first) {
      for (size_t second = first; second <= bytes.size(); ++second) {
        const std::unique_ptr<Decoder> decoder = ours.decoder();
        std::string text;
        uint64_t source = 0;
        for (const std::string& piece :
             {bytes.substr(0, first), bytes.substr(first, second - first), bytes.substr(second)}) {
          const std::string_view more = decoder->decode(piece);
          text += more;
          source += decoder->source_bytes(more);
        }
        const std::string_view last = decoder->finish();
        text += last;
        EXPECT_EQ(text, whole) << name << " " << first << " " << second;
        EXPECT_EQ(source + decoder->source_bytes(last), bytes.size());
      }
    }
  }
}

// A row ends at a line end, whatever stands before it.
TEST(CodePage, NeverLosesALineEndInBrokenBytes) {
  for (const char* name : {"gb18030", "big5", "shift_jis", "euc-kr"}) {
    const CodePage ours = page(name);
    for (int lead = 0x80; lead < 0x100; ++lead) {
      for (const std::string tail : {"\n", "\r", "0\n", "0\x81\n", ",\n"}) {
        const std::string text = decoded(ours, static_cast<char>(lead) + tail);
        EXPECT_EQ(text.back(), tail.back()) << name << " " << lead;
      }
    }
  }
}

TEST(CodePage, TellsUtf8WhereLettersOfThePageAreNeverIt) {
  // By iconv: рак in code page 866 and สก in windows-874 are well-formed UTF-8.
  EXPECT_TRUE(is_utf8("\xE0\xA0\xAA"));
  EXPECT_EQ(by_iconv("IBM866", "\xE0\xA0\xAA"), "рак");
  EXPECT_FALSE(page("ibm866").differs_from_utf8());
  EXPECT_TRUE(is_utf8("\xCA\xA1"));
  EXPECT_EQ(by_iconv("TIS-620", "\xCA\xA1"), "สก");
  EXPECT_FALSE(page("windows-874").differs_from_utf8());
  EXPECT_TRUE(page("iso-8859-1").differs_from_utf8());
}

// As in a process that may open nothing: not one file more. Run by itself, nothing of ICU is there
// yet.
TEST(CodePageDeathTest, OpensNoFile) {
  const auto decodes_without_files = [] {
    const rlimit none = {0, 0};
    if (setrlimit(RLIMIT_NOFILE, &none) != 0 || open("/dev/null", O_RDONLY) != -1) _exit(2);
    const std::optional<CodePage> gb18030 = CodePage::named("gb18030");
    const std::optional<CodePage> ibm850 = CodePage::named("ibm850");
    const bool all = gb18030 && ibm850 && decoded(*gb18030, "\xD7\xEA\xCA\xAF") == "钻石";
    _exit(all ? 0 : 1);
  };
  EXPECT_EXIT(decodes_without_files(), testing::ExitedWithCode(0), "");
}

TEST(CodePage, IsNothingByAnotherName) {
  for (const char* name : {"", "utf-8", "latin1", "GB18030", "iso-2022-jp", "utf-7"})
    EXPECT_FALSE(CodePage::named(name)) << name;
}

}  // namespace
}  // namespace girdle::delimited
