// The reader of XML documents: an element that repeats to records. What it takes and what it sets
// aside: README.md.
//
// The document is cut by a scanner of our own, so that it streams and every record's bytes are
// exact; each element that is cut out is then taken apart by pugixml, which by itself is too
// lenient to say what is XML.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "kit/maker.h"
#include "kit/output.h"
#include "xml/element_cutter.h"
#include "xml/element_fields.h"
#include "xml/xml_stream.h"

namespace girdle::xml {

class XmlReader final : private ElementListener {
 public:
  // As the descriptor's create; the reason in `refusal` where it returns nothing.
  static std::unique_ptr<XmlReader> create(const girdle_reader_host& host,
                                           const girdle_reader_setup& setup, std::string& refusal);

  girdle_status feed(std::string_view bytes);
  girdle_status finish();
  uint64_t consumed() const { return stream_.consumed(); }
  std::string_view save();

 private:
  friend class kit::Maker;
  struct Options {
    CutterSettings cutter;
    Repeated repeated = Repeated::kRefused;
    uint64_t fingerprint = 0;
  };
  static std::optional<Options> options(const girdle_reader_setup& setup, std::string& refusal);

  XmlReader(const girdle_reader_host& host, const girdle_reader_setup& setup, Options options);
  bool resume(std::string_view state);

  void element(const Element& element) override;
  void aside(uint64_t offset, uint64_t length, uint64_t line, std::string_view reason) override;
  bool stopped() const override { return out_.stopped(); }

  kit::Output out_;
  const Options options_;
  ElementFields fields_;
  XmlStream stream_;
  bool resumed_ = false;
  std::string state_;
};

// The reader as other code links it; the library exports it by index.
const girdle_reader_descriptor& descriptor();

}  // namespace girdle::xml
