// A document of XML as it comes, byte by byte if need be: how it is written, its text, and the
// elements that are cut out of it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "kit/saved_state.h"
#include "xml/element_cutter.h"
#include "xml/text_source.h"

namespace girdle::xml {

// Of so many times its limit a host lets a reader hold back bytes (girdle/reader.h: bounds).
inline constexpr uint64_t kHeldRecords = 8;

class XmlStream {
 public:
  // `settings` and `listener` live longer than this. settings.limit is at least 64.
  XmlStream(const CutterSettings& settings, ElementListener& listener);

  // The next bytes, in any pieces.
  void feed(std::string_view bytes);
  // No more will come. Once.
  void finish();

  // Bytes that are done with: they lie in what was told, or hold nothing.
  uint64_t consumed() const { return cutter_.begin(); }

  // What a stream that goes on at consumed() needs; asked only where that is beyond the beginning.
  void save(kit::StateWriter& state) const;
  void take_up(kit::StateParser& state);

 private:
  void take_head(std::string_view bytes, bool whole);
  void take(std::string_view bytes);

  ElementCutter cutter_;
  ElementListener& listener_;
  const size_t most_head_;            // bytes
  std::string head_;                  // first bytes, until it is known how the document is written
  std::optional<TextSource> source_;  // since then
  std::string text_;                  // of the bytes at hand
  uint64_t fed_ = 0;
};

}  // namespace girdle::xml
