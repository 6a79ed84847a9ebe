#include "draft/block_checks.h"

#include "draft/cut_frames.h"
#include "framing/crc.h"

namespace girdle::draft {
namespace {

constexpr size_t kFirstBytes = 512, kMostBytes = 8 << 10;

std::vector<std::string> check_names() {
  std::vector<std::string> names = {"xor8", "neg-sum8", "sum8-hex"};
  for (const framing::CrcParameters& crc : framing::crc_catalogue()) {
    std::string& name = names.emplace_back(crc.name);
    for (char& c : name) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c | 0x20) : c;
  }
  return names;
}

// Each way to write and to place a check.
void add_ways(const std::string& name, std::vector<BlockCheck>& ways) {
  const bool always_hex = name == "sum8-hex";
  const bool has_order = BlockCheck{name}.bits() > 8;
  for (const bool hex : {false, true}) {
    for (const bool low_first : {false, true}) {
      if ((always_hex && !hex) || (low_first && !has_order)) continue;
      for (const bool with_start : {false, true}) {
        for (const bool with_end : {true, false}) {
          ways.push_back({name, hex, low_first, with_start, with_end});
        }
      }
    }
  }
}

}  // namespace

config::Framing BlockCheck::framing(const std::string& start, const std::string& end) const {
  config::Framing settings;
  settings.kind = config::Framing::Kind::kBlock;
  settings.start = start;
  settings.end = end;
  settings.check = name;
  settings.check_hex = hex;
  settings.check_low_byte_first = low_first;
  settings.check_with_start = with_start;
  settings.check_with_end = with_end;
  return settings;
}

std::vector<Setting> BlockCheck::keys() const {
  std::vector<Setting> keys = {settled("check", name)};
  if (hex && name != "sum8-hex") keys.push_back(settled("check_as", "hex"));
  if (low_first) keys.push_back(settled("order", "low_first"));
  if (with_start) keys.push_back(settled("range.start", "included"));
  if (!with_end) keys.push_back(settled("range.end", "excluded"));
  return keys;
}

size_t BlockCheck::bits() const {
  const framing::CrcParameters* const crc = framing::find_crc(name);
  return crc == nullptr ? 8 : (crc->width + 7) / 8 * 8;
}

std::vector<BlockCheck> checks_that_hold(std::string_view bytes, const std::string& start,
                                         const std::string& end) {
  std::vector<BlockCheck> ways;
  for (const std::string& name : check_names()) add_ways(name, ways);
  // Most of the many ways fail in the first blocks.
  for (const size_t most : {kFirstBytes, kMostBytes}) {
    const std::string_view some = bytes.substr(0, most);
    const size_t blocks = cut_frames(some, BlockCheck{}.framing(start, end)).frame_count;
    if (most == kFirstBytes && blocks < 2) continue;
    std::erase_if(ways, [&](const BlockCheck& way) {
      const CutFrames cut = cut_frames(some, way.framing(start, end));
      // The last one may be cut off.
      return cut.fault_count > 0 || cut.frame_count == 0 || cut.frame_count + 1 < blocks;
    });
  }
  return ways;
}

}  // namespace girdle::draft
