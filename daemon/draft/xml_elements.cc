#include "draft/xml_elements.h"

#include <algorithm>
#include <map>

#include "draft/text_lines.h"

namespace girdle::draft {
namespace {

constexpr size_t kDeepest = 64;
constexpr size_t kMostWays = 500;
constexpr size_t kMostAttributes = 1'000;
constexpr std::string_view kSpace = " \t\r\n";

bool is_space(char c) { return kSpace.find(c) != kSpace.npos; }

class Walker {
 public:
  bool walk(std::string_view text) {
    text_ = text;
    for (size_t at = 0; at < text_.size();) {
      const size_t tag = text_.find('<', at);
      take_text(text_.substr(at, tag == text_.npos ? tag : tag - at));
      if (tag == text_.npos) break;
      at = take_markup(tag);
      if (at == text_.npos) return false;
    }
    const bool closed = open_.empty();
    open_.clear();
    return closed;
  }

  std::vector<XmlElements> take() {
    std::vector<XmlElements> all;
    for (const auto& key : order_) all.push_back(std::move(ways_[key]));
    return all;
  }

 private:
  struct Open {
    std::string key;                         // in ways_
    std::map<std::string, size_t> children;  // of this one element
    bool has_text = false;
  };

  // Behind the markup that begins at `at`; npos where it never ends or does not fit.
  size_t take_markup(size_t at) {
    const std::string_view rest = text_.substr(at);
    for (const auto& [begin, end] : {std::pair<std::string_view, std::string_view>{"<!--", "-->"},
                                     {"<?", "?>"},
                                     {"<![CDATA[", "]]>"}}) {
      if (!rest.starts_with(begin)) continue;
      const size_t found = rest.find(end, begin.size());
      if (found == rest.npos) return text_.npos;
      if (begin.size() > 4) take_text(rest.substr(begin.size(), found - begin.size()));
      return at + found + end.size();
    }
    if (rest.starts_with("<!")) {
      const size_t end = rest.find('>');
      return end == rest.npos ? text_.npos : at + end + 1;
    }
    const size_t end = end_of_tag(rest);
    if (end == rest.npos) return text_.npos;
    const std::string_view tag = rest.substr(1, end - 1);
    const bool fits = tag.starts_with('/') ? close(tag.substr(1)) : open(tag, at);
    return fits ? at + end + 1 : text_.npos;
  }

  // Of the `>`, which may also stand in an attribute.
  static size_t end_of_tag(std::string_view tag) {
    char quote = '\0';
    for (size_t i = 1; i < tag.size(); ++i) {
      if (quote != '\0') {
        if (tag[i] == quote) quote = '\0';
      } else if (tag[i] == '"' || tag[i] == '\'') {
        quote = tag[i];
      } else if (tag[i] == '>') {
        return i;
      }
    }
    return tag.npos;
  }

  bool open(std::string_view tag, size_t at) {
    const bool empty = tag.ends_with('/');
    if (empty) tag.remove_suffix(1);
    const size_t name_end = std::min(tag.find_first_of(kSpace), tag.size());
    if (name_end == 0 || open_.size() == kDeepest) return false;
    const std::string name(tag.substr(0, name_end));
    const std::string key = (open_.empty() ? std::string() : open_.back().key) + '\n' + name;
    if (!ways_.contains(key) && ways_.size() == kMostWays) return false;
    XmlElements& way = ways_[key];
    if (way.count == 0) {
      order_.push_back(key);
      if (!open_.empty()) way.path = ways_[open_.back().key].path;
      way.path.push_back(name);
      way.first_at = at;
    }
    ++way.count;
    take_attributes(tag.substr(name_end), way);
    if (!open_.empty()) count_child(name, way);
    open_.push_back({key, {}, false});
    return !empty || close(name);
  }

  void count_child(const std::string& name, XmlElements& way) {
    const size_t before = open_.back().children[name]++;
    XmlElements& parent = ways_[open_.back().key];
    if (before == 0) {
      ++way.parents;
    } else {
      parent.repeats_children = true;
    }
  }

  static void take_attributes(std::string_view text, XmlElements& way) {
    while (true) {
      while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
      const size_t equals = text.find('=');
      if (equals == text.npos) return;
      std::string_view name = text.substr(0, equals);
      while (!name.empty() && is_space(name.back())) name.remove_suffix(1);
      const size_t begin = text.find_first_of("\"'", equals);
      if (begin == text.npos) return;
      const size_t end = text.find(text[begin], begin + 1);
      if (end == text.npos) return;
      const bool counts = !name.starts_with("xmlns") && way.attributes.size() < kMostAttributes;
      if (counts) way.attributes.emplace(name);
      text.remove_prefix(end + 1);
    }
  }

  bool close(std::string_view name) {
    while (!name.empty() && is_space(name.back())) name.remove_suffix(1);
    if (open_.empty()) return false;
    XmlElements& way = ways_[open_.back().key];
    if (way.path.back() != name) return false;
    if (open_.back().has_text && open_.back().children.empty()) way.holds_text = true;
    open_.pop_back();
    return true;
  }

  void take_text(std::string_view text) {
    if (!open_.empty() && text.find_first_not_of(kSpace) != text.npos) open_.back().has_text = true;
  }

  std::string_view text_;
  std::map<std::string, XmlElements> ways_;
  std::vector<std::string> order_;
  std::vector<Open> open_;
};

}  // namespace

std::optional<std::vector<XmlElements>> xml_elements(const std::vector<std::string>& texts) {
  Walker walker;
  bool any = false;
  for (const std::string& text : texts) {
    const size_t first = text.find_first_not_of(" \t\r\n");
    if (first == text.npos) continue;
    if (text[first] != '<' || !walker.walk(text)) return std::nullopt;
    any = true;
  }
  auto elements = walker.take();
  if (!any || elements.empty()) return std::nullopt;
  return elements;
}

}  // namespace girdle::draft
