#include "delimited/code_page.h"

#include <unicode/ucnv.h>
#include <unicode/udata.h>

#include <new>
#include <numeric>
#include <utility>

namespace girdle::delimited {

namespace {

constexpr bool kOneByte = true;
constexpr bool kMoreBytes = false;
constexpr bool kDiffers = true;
constexpr bool kAlike = false;

struct Known {
  std::string_view name;
  const char* icu_name;
  bool one_byte;
  bool differs_from_utf8;
};

constexpr Known kKnown[] = {
    {"windows-1250", "windows-1250", kOneByte, kDiffers},
    {"windows-1253", "windows-1253", kOneByte, kDiffers},
    {"windows-1254", "windows-1254", kOneByte, kDiffers},
    {"windows-1255", "windows-1255", kOneByte, kDiffers},
    {"windows-1256", "windows-1256", kOneByte, kAlike},
    {"windows-1257", "windows-1257", kOneByte, kDiffers},
    {"windows-1258", "windows-1258", kOneByte, kDiffers},
    {"windows-874", "windows-874-2000", kOneByte, kAlike},
    {"iso-8859-1", "iso-8859-1", kOneByte, kDiffers},
    {"iso-8859-2", "iso-8859-2", kOneByte, kDiffers},
    {"iso-8859-4", "iso-8859-4", kOneByte, kDiffers},
    {"iso-8859-5", "iso-8859-5", kOneByte, kAlike},
    {"iso-8859-7", "iso-8859-7", kOneByte, kDiffers},
    {"iso-8859-8", "iso-8859-8", kOneByte, kDiffers},
    {"iso-8859-9", "iso-8859-9", kOneByte, kDiffers},
    {"iso-8859-13", "iso-8859-13", kOneByte, kDiffers},
    {"iso-8859-15", "iso-8859-15", kOneByte, kDiffers},
    {"ibm437", "ibm-437_P100-1995", kOneByte, kDiffers},
    {"ibm850", "ibm-850_P100-1995", kOneByte, kDiffers},
    {"ibm852", "ibm-852_P100-1995", kOneByte, kDiffers},
    {"ibm858", "ibm-858_P100-1997", kOneByte, kDiffers},
    {"ibm866", "ibm-866_P100-1995", kOneByte, kAlike},
    {"koi8-r", "koi8-r", kOneByte, kDiffers},
    {"koi8-u", "koi8-u", kOneByte, kAlike},
    {"macintosh", "macintosh", kOneByte, kDiffers},
    {"gb18030", "gb18030", kMoreBytes, kAlike},
    {"gbk", "gb18030", kMoreBytes, kAlike},  // which holds all of it
    {"big5", "windows-950-2000", kMoreBytes, kAlike},
    {"shift_jis", "ibm-943_P15A-2003", kMoreBytes, kAlike},
    {"euc-kr", "windows-949-2000", kMoreBytes, kAlike},
};

CodePageText::Converter open(const char* icu_name) {
  // Once for the program: only what lies in ICU's library, whatever ICU_DATA says.
  static const bool kNoFiles = [] {
    UErrorCode error = U_ZERO_ERROR;
    udata_setFileAccess(UDATA_NO_FILES, &error);
    return U_SUCCESS(error);
  }();
  UErrorCode error = U_ZERO_ERROR;
  CodePageText::Converter converter(kNoFiles ? ucnv_open(icu_name, &error) : nullptr);
  if (!converter || U_FAILURE(error)) return nullptr;
  ucnv_setToUCallBack(converter.get(), UCNV_TO_U_CALLBACK_STOP, nullptr, nullptr, nullptr, &error);
  if (U_FAILURE(error)) return nullptr;
  return converter;
}

bool is_text(UChar32 point) {
  const bool control = point < 0xA0;
  const bool private_use = (point >= 0xE000 && point <= 0xF8FF) || point >= 0xF0000;
  return !control && !private_use;
}

struct Character {
  UErrorCode error = U_ZERO_ERROR;
  UChar32 point = 0;
  size_t bytes = 0;
};

// The character that begins at `at` with a byte above 7F; those below are ASCII in every page,
// which ICU's tables of IBM's pages are not.
Character next_character(UConverter* converter, const char* at, const char* end) {
  Character next;
  const char* after = at;
  ucnv_reset(converter);
  next.point = ucnv_getNextUChar(converter, &after, end, &next.error);
  next.bytes = static_cast<size_t>(after - at);
  if (U_SUCCESS(next.error) && (next.bytes == 0 || !is_text(next.point)))
    next.error = U_INVALID_CHAR_FOUND;
  return next;
}

UpperHalf upper_half_of(UConverter* converter) {
  UpperHalf upper{};
  for (size_t i = 0; i < upper.size(); ++i) {
    const char byte = static_cast<char>(0x80 + i);
    const Character character = next_character(converter, &byte, &byte + 1);
    if (U_SUCCESS(character.error)) upper[i] = static_cast<char16_t>(character.point);
  }
  return upper;
}

}  // namespace

std::optional<CodePage> CodePage::named(std::string_view name) {
  for (const Known& known : kKnown) {
    if (known.name != name) continue;
    const CodePageText::Converter converter = open(known.icu_name);
    if (!converter) return std::nullopt;
    CodePage page;
    page.name_ = known.name;
    page.icu_name_ = known.icu_name;
    page.one_byte_ = known.one_byte;
    page.differs_from_utf8_ = known.differs_from_utf8;
    if (known.one_byte) page.upper_half_ = upper_half_of(converter.get());
    // ICU has the Greek letter there. Unicode's CP437.TXT has the micro sign, which is what µm
    // means.
    if (name == "ibm437") page.upper_half_[0xE6 - 0x80] = 0x00B5;
    return page;
  }
  return std::nullopt;
}

std::unique_ptr<Decoder> CodePage::decoder() const {
  CodePageText::Converter converter = open(icu_name_);
  if (!converter) throw std::bad_alloc();  // it could be opened before
  return std::make_unique<CodePageText>(std::move(converter));
}

std::string_view CodePage::mark() const {
  const bool is_gb18030 = std::string_view(icu_name_) == "gb18030";
  return is_gb18030 ? "\x84\x31\x95\x33" : std::string_view();  // U+FEFF
}

void CodePageText::Close::operator()(UConverter* converter) const { ucnv_close(converter); }

std::string_view CodePageText::decode(std::string_view bytes) {
  kept_.append(bytes);
  take(false);
  return text_;
}

std::string_view CodePageText::finish() {
  take(true);
  return text_;
}

void CodePageText::take(bool whole) {
  text_.clear();
  widths_.clear();
  const char* at = kept_.data();
  const char* const end = at + kept_.size();
  while (at < end) {
    if (static_cast<uint8_t>(*at) < 0x80) {
      put(static_cast<uint8_t>(*at++), 1);
      continue;
    }
    const Character next = next_character(converter_.get(), at, end);
    if (next.error == U_TRUNCATED_CHAR_FOUND && !whole) break;
    if (U_FAILURE(next.error)) {
      // One byte at a time, so that no line end is taken for the rest of a character.
      text_.push_back('\xFF');
      widths_.push_back(1);
      ++at;
      continue;
    }
    put(static_cast<uint32_t>(next.point), next.bytes);
    at += next.bytes;
  }
  kept_.erase(0, static_cast<size_t>(at - kept_.data()));
}

void CodePageText::put(uint32_t point, size_t bytes) {
  append_utf8(point, text_);
  widths_.push_back(static_cast<char>(bytes));
  widths_.resize(text_.size(), '\0');
}

uint64_t CodePageText::source_bytes(std::string_view part) const {
  const auto begin = widths_.begin() + (part.data() - text_.data());
  return std::accumulate(begin, begin + static_cast<ptrdiff_t>(part.size()), uint64_t{0});
}

}  // namespace girdle::delimited
