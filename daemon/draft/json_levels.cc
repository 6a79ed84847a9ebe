#include "draft/json_levels.h"

#include <simdjson.h>

#include <algorithm>

#include "base/text.h"
#include "draft/text_lines.h"

namespace girdle::draft {
namespace {

using simdjson::dom::element;
using simdjson::dom::element_type;

constexpr size_t kMostLevels = 64;
constexpr size_t kMostMembers = 1'000;
constexpr int kDeepest = 32;

bool is_single(element value) {
  const auto type = value.type();
  return type != element_type::ARRAY && type != element_type::OBJECT &&
         type != element_type::NULL_VALUE;
}

// Only of values that are objects, or arrays.
simdjson::dom::object object_of(element value) {
  simdjson::dom::object object;
  const auto error = value.get(object);
  (void)error;
  return object;
}
simdjson::dom::array array_of(element value) {
  simdjson::dom::array array;
  const auto error = value.get(array);
  (void)error;
  return array;
}

void count(std::string name, Members& members) {
  if (members.size() < kMostMembers || members.contains(name)) ++members[std::move(name)];
}

class LevelFinder {
 public:
  void document(element root) {
    if (root.is_object()) {
      record("", root, false, {});
      inside(root, "", {around(root)});
    } else if (root.is_array()) {
      array(root, "", {});
    }
  }

  std::vector<JsonLevel> take() {
    std::vector<JsonLevel> levels;
    for (const std::string& pointer : order_) levels.push_back(std::move(levels_[pointer].seen));
    return levels;
  }

 private:
  // An object around others. By its number it counts once for each level, and not once more for
  // every record in it.
  struct Outer {
    element object;
    size_t number;
    std::string_view towards;  // the member that leads to the records
  };
  // The nearest last.
  using Chain = std::vector<Outer>;

  struct Level {
    JsonLevel seen;
    std::vector<size_t> counted;  // the number of the last object counted, of each in `around`
  };

  Outer around(element object) { return {object, ++outers_, {}}; }

  void array(element list, const std::string& pointer, const Chain& outer) {
    for (const element item : array_of(list)) {
      if (!item.is_object()) continue;
      record(pointer, item, true, outer);
      Chain chain = outer;
      chain.push_back(around(item));
      inside(item, pointer + "/-", std::move(chain));
    }
  }

  // What lies deeper in an object; `pointer` leads to it.
  void inside(element object, const std::string& pointer, Chain chain) {
    if (chain.size() > kDeepest) return;
    for (const auto [name, value] : object_of(object)) {
      chain.back().towards = name;
      const std::string at = pointer + '/' + json_token(name);
      if (value.is_array() && holds_objects(value)) {
        array(value, at, chain);
      } else if (value.is_object()) {
        Chain deeper = chain;
        deeper.push_back(around(value));
        inside(value, at, std::move(deeper));
      }
    }
  }

  static bool holds_objects(element list) {
    for (const element item : array_of(list)) {
      if (item.is_object()) return true;
    }
    return false;
  }

  void record(const std::string& pointer, element object, bool is_array, const Chain& outer) {
    if (!levels_.contains(pointer)) {
      if (levels_.size() == kMostLevels) return;
      order_.push_back(pointer);
    }
    Level& level = levels_[pointer];
    level.seen.pointer = pointer;
    level.seen.is_array = is_array;
    ++level.seen.objects;
    members_of(object, {}, level.seen, 0);
    if (level.counted.size() < outer.size()) {
      level.counted.resize(outer.size());
      level.seen.around.resize(outer.size());
    }
    for (size_t i = 0; i < outer.size(); ++i) {
      const Outer& one = outer[outer.size() - 1 - i];
      if (level.counted[i] != one.number) count_around(one, level.seen.around[i]);
      level.counted[i] = one.number;
    }
  }

  // Only what stands before the records: the reader hands them on as they come.
  static void count_around(const Outer& outer, JsonLevel::Around& around) {
    ++around.objects;
    for (const auto [name, value] : object_of(outer.object)) {
      if (name == outer.towards) return;
      const std::string at = json_token(name);
      if (is_single(value)) count(at, around.members);
      if (!value.is_object()) continue;
      for (const auto [inner_name, inner] : object_of(value)) {
        if (is_single(inner)) count(at + '/' + json_token(inner_name), around.members);
      }
    }
  }

  // Of nested objects by their way, as the reader names them: "/result/code".
  static void members_of(element object, const std::string& way, JsonLevel& level, int depth) {
    for (const auto [name, value] : object_of(object)) {
      const std::string at = way + '/' + json_token(name);
      if (is_single(value)) count(depth == 0 ? std::string(name) : at, level.members);
      if (value.is_object() && depth < 3) members_of(value, at, level, depth + 1);
    }
  }

  std::map<std::string, Level> levels_;
  std::vector<std::string> order_;
  size_t outers_ = 0;
};

// Numbers may have more digits than the parser takes; what they are does not matter here.
std::string with_short_numbers(std::string_view text) {
  std::string out;
  bool in_text = false;
  for (size_t i = 0; i < text.size(); ++i) {
    const bool digit = text[i] >= '0' && text[i] <= '9';
    if (digit && !in_text) {
      out += '1';
      const size_t end = text.find_first_not_of("0123456789.eE+-", i);
      i = std::min(end, text.size()) - 1;
      continue;
    }
    out += text[i];
    if (in_text && text[i] == '\\' && i + 1 < text.size()) {
      out += text[++i];
    } else if (text[i] == '"') {
      in_text = !in_text;
    }
  }
  return out;
}

bool take_whole(simdjson::dom::parser& parser, std::string_view text, LevelFinder& finder) {
  element root;
  if (parser.parse(simdjson::padded_string(with_short_numbers(text))).get(root) !=
      simdjson::SUCCESS)
    return false;
  if (!root.is_object() && !root.is_array()) return false;
  finder.document(root);
  return true;
}

// A document that came garbled does not make the others something else.
struct Tally {
  size_t taken = 0, garbled = 0;
  bool is_enough() const { return taken > 0 && garbled * 5 <= taken + garbled; }
};

void take_lines(simdjson::dom::parser& parser, std::string_view text, LevelFinder& finder,
                Tally& tally) {
  for (const std::string_view line : lines_of(text)) {
    if (is_blank(line)) continue;
    const bool object = base::trimmed(line).front() == '{';
    ++(object && take_whole(parser, line, finder) ? tally.taken : tally.garbled);
  }
}

}  // namespace

std::string json_token(std::string_view name) {
  std::string token;
  for (const char c : name) {
    if (c == '~' || c == '/') {
      token += c == '~' ? "~0" : "~1";
    } else {
      token += c;
    }
  }
  return token;
}

std::optional<JsonLevels> json_levels(const std::vector<std::string>& texts) {
  simdjson::dom::parser parser;
  for (const bool by_lines : {false, true}) {
    LevelFinder finder;
    Tally tally;
    for (const std::string& text : texts) {
      if (by_lines) {
        take_lines(parser, text, finder, tally);
      } else {
        ++(take_whole(parser, text, finder) ? tally.taken : tally.garbled);
      }
    }
    if (!tally.is_enough()) continue;
    JsonLevels found{finder.take(), by_lines};
    if (found.levels.empty() && !by_lines) found.levels.emplace_back();
    if (!found.levels.empty()) return found;
  }
  return std::nullopt;
}

}  // namespace girdle::draft
