#include "framing/framer.h"

#include <optional>
#include <utility>

#include "base/text.h"
#include "framing/block_framer.h"
#include "framing/line_framer.h"

namespace girdle::framing {
namespace {

base::Error bad_mark(const char* which, const std::string& mark) {
  return base::input_error(std::string(which) + " \"" + base::excerpt(mark) +
                           "\" of a frame must be 1 to 8 bytes, e.g. \"\\x02\"");
}

base::Result<std::unique_ptr<Framer>> make_block_framer(const config::Framing& settings) {
  if (settings.start.empty() || settings.start.size() > 8) return bad_mark("start", settings.start);
  if (settings.end.empty() || settings.end.size() > 8) return bad_mark("end", settings.end);
  std::optional<BlockCheck> check;
  if (!settings.check.empty()) {
    auto made =
        BlockCheck::create(settings.check, settings.check_hex, settings.check_low_byte_first);
    if (!made) return std::move(made).error();
    check = std::move(made).value();
  }
  return std::unique_ptr<Framer>(std::make_unique<BlockFramer>(settings, std::move(check)));
}

}  // namespace

base::Result<std::unique_ptr<Framer>> make_framer(const config::Framing& settings) {
  if (settings.max_bytes == 0) {
    return base::input_error("max_bytes of a frame must be above 0, e.g. 65536");
  }
  switch (settings.kind) {
    case config::Framing::Kind::kLine:
      return std::unique_ptr<Framer>(std::make_unique<LineFramer>(settings.max_bytes));
    case config::Framing::Kind::kBlock:
      return make_block_framer(settings);
    case config::Framing::Kind::kAstm:
      return base::input_error("frames of kind astm are a conversation: see astm_framer.h");
  }
  return base::input_error("this kind of frame is not known: line or block");
}

}  // namespace girdle::framing
