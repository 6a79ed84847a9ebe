#include "columns/text_encoding.h"

#include "kit/descriptor.h"

namespace girdle::columns {

std::optional<TextEncoding> TextEncoding::from(const girdle_reader_setup& setup,
                                               std::string& refusal) {
  const std::string_view name = kit::option(setup, "encoding");
  if (name.empty()) return TextEncoding();
  if (const auto encoding = delimited::encoding_named(name)) return TextEncoding{*encoding, {}};
  if (const auto page = delimited::CodePage::named(name))
    return TextEncoding{Encoding::kCodePage, page};
  refusal =
      "encoding: must be one that the reader's README names, such as utf-8, windows-1252 or "
      "gb18030";
  return std::nullopt;
}

}  // namespace girdle::columns
