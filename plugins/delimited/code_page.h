// Code pages: the encodings from before Unicode. The tables are those of ICU, which lie in its
// library, so that nothing is read from a disk and nothing is asked of locale or environment.
//
// Strict: a byte, or a sequence, that stands for no character is told and never replaced. Private
// use characters and C1 controls count as none, because no instrument writes them: who meets one
// has the wrong page.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "delimited/decoder.h"
#include "delimited/encoding.h"

struct UConverter;

namespace girdle::delimited {

class CodePage {
 public:
  // By the name in the manifest; nothing for any other, or where ICU does not have it.
  static std::optional<CodePage> named(std::string_view name);

  std::string_view name() const { return name_; }
  // Of a page with one byte a character; null for the others, which need a decoder.
  const UpperHalf* upper_half() const { return one_byte_ ? &upper_half_ : nullptr; }
  // Of a page with more than one byte a character.
  std::unique_ptr<Decoder> decoder() const;
  // Whether text in this page is practically never well-formed UTF-8 by chance, so that UTF-8 can
  // be told from it. Not so where letters lie both where UTF-8 begins a character and where it
  // goes on with one.
  bool differs_from_utf8() const { return differs_from_utf8_; }
  // The page's mark at the beginning of a document; empty for most.
  std::string_view mark() const;

 private:
  CodePage() = default;

  std::string_view name_;
  const char* icu_name_ = nullptr;
  bool one_byte_ = true;
  bool differs_from_utf8_ = false;
  UpperHalf upper_half_{};
};

// Text in a page with more than one byte a character.
class CodePageText final : public Decoder {
 public:
  struct Close {
    void operator()(UConverter* converter) const;
  };
  using Converter = std::unique_ptr<UConverter, Close>;

  explicit CodePageText(Converter converter) : converter_(std::move(converter)) {}
  std::string_view decode(std::string_view bytes) override;
  std::string_view finish() override;
  uint64_t source_bytes(std::string_view part) const override;

 private:
  void take(bool whole);
  void put(uint32_t point, size_t bytes);

  Converter converter_;
  std::string kept_;    // bytes that are not yet text
  std::string text_;    // UTF-8
  std::string widths_;  // of each byte of text_: source bytes; 0 for all but a character's first
};

}  // namespace girdle::delimited
