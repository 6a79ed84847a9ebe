// How a document's bytes become text in which rows and lines can be found: as they are, or decoded
// piece by piece. For readers of rows and of lines.
#pragma once

#include <algorithm>
#include <cstdint>
#include <memory>
#include <optional>
#include <string_view>

#include "delimited/code_page.h"
#include "delimited/decoder.h"
#include "delimited/encoding.h"

namespace girdle::delimited {

class SourceText {
 public:
  // `page`: of Encoding::kCodePage; it lives as long as this.
  explicit SourceText(const std::optional<CodePage>& page) : page_(page ? &*page : nullptr) {}

  // As byte_order_mark(); the page's own mark goes before those of Unicode, which it may look like.
  ByteOrderMark mark(std::string_view head, bool whole) const;
  // False, and nothing changed: it is kCodePage, and there is no page.
  bool set(Encoding encoding);
  Encoding encoding() const { return encoding_; }

  // Text differs from the bytes.
  bool is_decoded() const { return decoder_ != nullptr; }
  // Of an encoding with one byte a character, in which text is left as it is; else null.
  const UpperHalf* upper_half() const { return upper_half_; }
  uint64_t source_bytes(std::string_view text) const {
    return decoder_ ? decoder_->source_bytes(text) : text.size();
  }
  uint64_t line_end_bytes() const { return is_wide(encoding_) ? 2 : 1; }
  // How much of the text comes from at most `left` bytes; cut between characters.
  size_t within(std::string_view text, uint64_t left) const;
  // Why it is no text of this encoding.
  std::optional<std::string_view> fault(std::string_view text) const;

  // Gives `take` the text of these bytes, while `goes_on`.
  template <class GoesOn, class Take>
  void decode(std::string_view bytes, const GoesOn& goes_on, const Take& take) {
    if (!decoder_) {
      take(bytes);
      return;
    }
    while (!bytes.empty() && goes_on()) {
      take(decoder_->decode(bytes.substr(0, kBlock)));
      bytes.remove_prefix(std::min(bytes.size(), kBlock));
    }
  }
  // No more will come.
  template <class Take>
  void finish(const Take& take) {
    if (decoder_) take(decoder_->finish());
  }

 private:
  static constexpr size_t kBlock = 8192;  // bytes decoded at a time

  const CodePage* page_;
  Encoding encoding_ = Encoding::kUtf8;
  std::unique_ptr<Decoder> decoder_;
  const UpperHalf* upper_half_ = nullptr;
};

}  // namespace girdle::delimited
