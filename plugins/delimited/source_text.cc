#include "delimited/source_text.h"

#include "delimited/row_values.h"

namespace girdle::delimited {
namespace {

constexpr uint64_t kMostWidth = 4;  // bytes of the document for one byte of text

}  // namespace

ByteOrderMark SourceText::mark(std::string_view head, bool whole) const {
  const std::string_view own = page_ ? page_->mark() : std::string_view();
  if (!own.empty() && head == own) return {true, own.size(), Encoding::kCodePage};
  if (!whole && head.size() < own.size() && own.starts_with(head)) return {};
  return byte_order_mark(head, whole);
}

bool SourceText::set(Encoding encoding) {
  if (encoding == Encoding::kCodePage && !page_) return false;
  encoding_ = encoding;
  decoder_.reset();
  upper_half_ = nullptr;
  if (is_wide(encoding)) {
    decoder_ = std::make_unique<Utf16Text>(encoding == Encoding::kUtf16Be);
  } else if (is_single_byte(encoding)) {
    upper_half_ = &delimited::upper_half(encoding);
  } else if (encoding == Encoding::kCodePage) {
    upper_half_ = page_->upper_half();
    if (upper_half_ == nullptr) decoder_ = page_->decoder();
  }
  return true;
}

std::optional<std::string_view> SourceText::fault(std::string_view text) const {
  return encoding_ == Encoding::kCodePage ? text_fault(text, *page_) : text_fault(text, encoding_);
}

size_t SourceText::within(std::string_view text, uint64_t left) const {
  if (!decoder_) return std::min<uint64_t>(text.size(), left);
  if (kMostWidth * text.size() <= left) return text.size();
  size_t size = 0;
  uint64_t bytes = 0;
  while (size < text.size()) {
    size_t next = size + 1;
    while (next < text.size() && (text[next] & 0xC0) == 0x80) ++next;
    bytes += source_bytes(text.substr(size, next - size));
    if (bytes > left) break;
    size = next;
  }
  return size;
}

}  // namespace girdle::delimited
