#include "config/yaml_file.h"

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/mark.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <sstream>
#include <unordered_map>

#include "base/text.h"

namespace girdle::config {
namespace {

using model::Mark;

// Stops the parser where going on is of no use: our own limit, or what we do not take.
struct Stop {
  Mark mark;
  std::string text;
};

// Places of the parser (0-based, columns in bytes) as places for people.
class Places {
 public:
  explicit Places(std::string_view text) : text_(text) {
    for (size_t at = 0; at < text.size(); ++at) {
      if (text[at] == '\n') starts_.push_back(at + 1);
    }
  }

  Mark of(const YAML::Mark& mark) {
    if (mark.line < 0 || mark.column < 0) return {};
    const auto line = static_cast<size_t>(mark.line);
    auto column = static_cast<size_t>(mark.column);
    if (line >= starts_.size()) return {mark.line + 1, mark.column + 1};
    // Nearly always the next place on the same line: counting goes on from the last one, so that a
    // file of one long line costs no square.
    if (line != last_line_ || column < last_column_) {
      last_line_ = line;
      last_column_ = 0;
      last_count_ = 0;
    }
    column = std::min(column, text_.size() - starts_[line]);
    for (; last_column_ < column; ++last_column_) {
      const char byte = text_[starts_[line] + last_column_];
      last_count_ += (static_cast<unsigned char>(byte) & 0xC0) != 0x80;
    }
    return {mark.line + 1, static_cast<int>(last_count_) + 1};
  }

  std::string_view line(int number) const {
    if (number < 1 || static_cast<size_t>(number) > starts_.size()) return {};
    const std::string_view rest = text_.substr(starts_[static_cast<size_t>(number) - 1]);
    return rest.substr(0, rest.find('\n'));
  }

 private:
  std::string_view text_;
  std::vector<size_t> starts_ = {0};
  size_t last_line_ = 0, last_column_ = 0, last_count_ = 0;
};

// The word for nothing that stands at the beginning of `rest`, if one does.
std::string_view spelled_nothing(std::string_view rest) {
  for (const std::string_view word : {"~", "null", "Null", "NULL"}) {
    if (!rest.starts_with(word)) continue;
    const size_t end = word.size();
    if (end == rest.size() || std::string_view(" \t\r\n,:]}").find(rest[end]) != rest.npos) {
      return word;
    }
  }
  return {};
}

// The parser takes the end of the file for a closing quote, and so a whole file for one text.
bool quote_closes(std::string_view rest) {
  const char quote = rest.front();
  for (size_t at = 1; at < rest.size(); ++at) {
    if (quote == '"' && rest[at] == '\\') {
      ++at;
    } else if (rest[at] == quote) {
      if (quote == '"' || at + 1 == rest.size() || rest[at + 1] != quote) return true;
      ++at;
    }
  }
  return false;
}

class TreeBuilder final : public YAML::EventHandler {
 public:
  TreeBuilder(std::string_view text, std::deque<Node>& nodes, const Report& report)
      : text_(text), places_(text), nodes_(nodes), report_(report) {}

  const Node* root() const { return root_; }
  Places& places() { return places_; }

  void OnDocumentStart(const YAML::Mark& mark) override {
    if (root_ != nullptr) {
      throw Stop{places_.of(mark), "a second document begins here (---); a file holds one"};
    }
  }
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    Node& node = add(Node::Kind::kEmpty, mark, "?", anchor);
    if (mark.pos >= 0 && static_cast<size_t>(mark.pos) <= text_.size()) {
      node.text = spelled_nothing(text_.substr(static_cast<size_t>(mark.pos)));
    }
    // A value that was left out has the place of what comes next: if more comes from that place,
    // the word there belongs to the latter.
    if (!node.text.empty()) spelled_ = &node, spelled_at_ = mark.pos;
    close(node);
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    forget_spelled(mark);
    const Node* target = anchors_.at(anchor);
    if (!target->closed) {
      throw Stop{places_.of(mark), "an alias (*) stands inside what it points to"};
    }
    place(*target, places_.of(mark));
  }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    Node& node = add(Node::Kind::kText, mark, tag, anchor);
    node.text = value;
    node.quoted = tag == "!";
    check_quote(mark, node.mark);
    close(node);
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(add(Node::Kind::kList, mark, tag, anchor));
  }
  void OnSequenceEnd() override { close_open(); }

  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(add(Node::Kind::kMap, mark, tag, anchor));
  }
  void OnMapEnd() override { close_open(); }

 private:
  struct Open {
    Node* node;
    const Node* key = nullptr;  // of a map: read, and waiting for its value
    std::unordered_map<std::string_view, const Node*> seen = {};
  };

  void forget_spelled(const YAML::Mark& mark) {
    if (spelled_ != nullptr && spelled_at_ == mark.pos) spelled_->text.clear();
    spelled_ = nullptr;
  }

  Node& add(Node::Kind kind, const YAML::Mark& mark, const std::string& tag,
            YAML::anchor_t anchor) {
    forget_spelled(mark);
    Node& node = nodes_.emplace_back();
    node.kind = kind;
    node.mark = places_.of(mark);
    if (!tag.empty() && tag != "?" && tag != "!") {
      report_(node.mark,
              "tags (such as !!str) are not taken: leave it out, the key decides "
              "what a value is");
    }
    if (anchor != YAML::NullAnchor) anchors_[anchor] = &node;
    return node;
  }

  void check_quote(const YAML::Mark& mark, const Mark& at) const {
    if (mark.pos < 0 || static_cast<size_t>(mark.pos) >= text_.size()) return;
    const std::string_view rest = text_.substr(static_cast<size_t>(mark.pos));
    if (rest.front() != '"' && rest.front() != '\'') return;
    if (!quote_closes(rest)) throw Stop{at, "the quote that opens here is never closed"};
  }

  void open(Node& node) {
    if (open_.size() + 1 > kMaxLevels) {
      throw Stop{node.mark, "nested deeper than " + std::to_string(kMaxLevels) + " levels"};
    }
    open_.push_back({&node});
  }

  void close_open() {
    Node& node = *open_.back().node;
    open_.pop_back();
    close(node);
  }

  void close(Node& node) {
    node.closed = true;
    place(node, node.mark);
  }

  // Puts a finished node into what is open around it. `mark` is where it stands, which for an alias
  // is not where the node stands.
  void place(const Node& node, const Mark& mark) {
    if (open_.empty()) {
      root_ = &node;
      return;
    }
    Open& around = open_.back();
    around.node->weight += node.weight;
    around.node->levels = std::max(around.node->levels, node.levels + 1);
    if (around.node->weight > kMaxValues ||
        static_cast<int>(open_.size()) + node.levels > kMaxLevels) {
      throw Stop{mark, "holds more than " + std::to_string(kMaxValues) + " values or " +
                           std::to_string(kMaxLevels) + " levels once its aliases are written out"};
    }
    if (around.node->kind == Node::Kind::kList) {
      around.node->items.push_back(&node);
    } else if (around.key == nullptr) {
      around.key = &node;
    } else {
      add_entry(around, *std::exchange(around.key, nullptr), node);
    }
  }

  void add_entry(Open& map, const Node& key, const Node& value) {
    const auto name = key.scalar();
    if (!name) {
      report_(key.mark, "a key must be a text, and not a list, a map or nothing");
    } else if (*name == "<<" && !key.quoted) {
      report_(key.mark,
              "merging with << is not taken: write the keys out, or use an alias for a whole "
              "value");
    } else if (const auto [at, fresh] = map.seen.emplace(*name, &key); !fresh) {
      report_(key.mark, "the key \"" + base::excerpt(*name) + "\" is here twice (first on line " +
                            std::to_string(at->second->mark.line) + ")");
    } else {
      map.node->entries.push_back({&key, &value});
    }
  }

  std::string_view text_;
  Places places_;
  std::deque<Node>& nodes_;
  const Report& report_;
  std::unordered_map<YAML::anchor_t, const Node*> anchors_;
  std::vector<Open> open_;
  const Node* root_ = nullptr;
  Node* spelled_ = nullptr;
  int spelled_at_ = 0;
};

// What a shop's administrator most likely did, by the place at which the parser gave up.
std::string hint(std::string_view line, const Mark& mark, std::string_view said) {
  if (line.substr(0, line.find_first_not_of(" \t")).find('\t') != line.npos) {
    return "; indent with spaces, never with tabs";
  }
  if (said == "illegal map value") {
    return "; a text that holds \": \" needs quotes around it, and a key needs a \":\" behind it";
  }
  if (said == "end of map not found") return "; the keys of one map begin in the same column";
  if (said.starts_with("unknown escape character")) {
    return "; between double quotes write \\\\ for a \\, or use single quotes";
  }
  if (said == "the referenced anchor is not defined") {
    return "; a text that begins with \"*\" needs quotes around it";
  }
  if (said.ends_with("flow not found")) return "; a { or a [ before this is never closed";
  const auto column = static_cast<size_t>(mark.column);
  if (said == "unknown token" && column >= 1 && column <= line.size()) {
    return std::string("; a text that begins with \"") + line[column - 1] +
           "\" needs quotes around it";
  }
  return {};
}

Mark first_bad_byte(std::string_view text) {
  Mark mark{1, 1};
  for (size_t at = 0; at < text.size(); ++at) {
    size_t length = 1;
    while (length < 4 && at + length < text.size() &&
           (static_cast<unsigned char>(text[at + length]) & 0xC0) == 0x80) {
      ++length;
    }
    if (text[at] == '\0' || !base::is_utf8(text.substr(at, length))) return mark;
    at += length - 1;
    mark = text[at] == '\n' ? Mark{mark.line + 1, 1} : Mark{mark.line, mark.column + 1};
  }
  return mark;
}

}  // namespace

std::optional<std::string_view> Node::scalar() const {
  if (kind == Kind::kText || (kind == Kind::kEmpty && !text.empty())) return text;
  return std::nullopt;
}

const Node* value_of(const Node& map, std::string_view key) {
  for (const Node::Entry& entry : map.entries) {
    if (entry.key->text == key) return entry.value;
  }
  return nullptr;
}

const Mark& Node::place(const Entry& entry) {
  const bool left_out = entry.value->kind == Kind::kEmpty && entry.value->text.empty();
  return left_out ? entry.key->mark : entry.value->mark;
}

std::optional<YamlFile> YamlFile::parse(const std::string& text, const Report& report) {
  std::string_view plain = text;
  if (plain.starts_with("\xEF\xBB\xBF")) plain.remove_prefix(3);
  if (!base::is_utf8(plain) || plain.find('\0') != plain.npos) {
    report(first_bad_byte(plain), "not UTF-8 text; save the file as UTF-8");
    return std::nullopt;
  }
  YamlFile file;
  file.nodes_ = std::make_unique<std::deque<Node>>();
  TreeBuilder tree(plain, *file.nodes_, report);
  try {
    std::istringstream stream{std::string(plain)};
    YAML::Parser parser(stream);
    while (parser.HandleNextDocument(tree)) {
    }
  } catch (const Stop& stop) {
    report(stop.mark, stop.text);
    return std::nullopt;
  } catch (const YAML::Exception& failure) {
    const Mark mark = tree.places().of(failure.mark);
    report(mark,
           "not YAML: " + failure.msg + hint(tree.places().line(mark.line), mark, failure.msg));
    return std::nullopt;
  }
  file.root_ = tree.root();
  if (file.root_ == nullptr || file.root_->kind == Node::Kind::kEmpty) {
    report({}, "is empty; it must be a map of keys and values");
    return std::nullopt;
  }
  return file;
}

}  // namespace girdle::config
