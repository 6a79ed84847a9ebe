#include "draft/slips.h"

#include <algorithm>
#include <cstdint>
#include <functional>
#include <map>
#include <set>
#include <tuple>

#include "base/text.h"
#include "draft/column_names.h"
#include "draft/line_pattern.h"
#include "draft/text_lines.h"

namespace girdle::draft {
namespace {

constexpr size_t kLongestLabel = 40;
constexpr size_t kMostIgnored = 16;
constexpr size_t kMostLines = 5'000;  // of a text, that are looked at; the trial reads all
constexpr size_t kMostEnds = 32;

bool begins_with_letter(std::string_view text) {
  if (text.empty()) return false;
  const auto first = static_cast<unsigned char>(text.front());
  return (first | 0x20) >= 'a' && ((first | 0x20) <= 'z' || first >= 0x80);
}

// What a line has for a label in one of the styles; empty: none.
struct Style {
  std::string_view pattern;  // as the option `labels`; empty: its default
  std::string_view (*label)(std::string_view line);
};

// A row of a table with a time of day in it has a colon too, and more digits than a label.
bool has_many_digits(std::string_view label) {
  const auto digits =
      std::count_if(label.begin(), label.end(), [](char c) { return c >= '0' && c <= '9'; });
  const auto spaces = std::count(label.begin(), label.end(), ' ');
  return digits * 2 > static_cast<ptrdiff_t>(label.size()) - spaces;
}

// "Date, time" is a label; "R1042,A,10" is a row.
bool has_tight_comma(std::string_view label) {
  for (size_t at = label.find(','); at != label.npos; at = label.find(',', at + 1)) {
    if (label.substr(at + 1, 1) != " ") return true;
  }
  return false;
}

std::string_view checked(std::string_view label) {
  label = base::trimmed(label);
  const bool plain = label.size() <= kLongestLabel && begins_with_letter(label) &&
                     label.find_first_of(";|\"{}<>") == label.npos &&
                     std::count(label.begin(), label.end(), '\t') < 2;
  return plain && !has_tight_comma(label) && !has_many_digits(label) ? label : std::string_view();
}

std::string_view by_mark(std::string_view line) {
  const size_t mark = line.find_first_of(":=");
  return mark == line.npos ? std::string_view() : checked(line.substr(0, mark));
}

std::string_view by_dots(std::string_view line) {
  const size_t dots = line.find("...");
  const size_t end = line.find_first_not_of('.', dots);
  const bool value = dots != line.npos && end != line.npos && line[end] == ' ';
  return value ? checked(line.substr(0, dots)) : std::string_view();
}

constexpr Style kStyles[] = {{"", &by_mark}, {R"((.*?) ?\.{3,} (.*))", &by_dots}};

enum class LineKind { kBlank, kRuler, kLabelled, kContinued, kOther };
struct Line {
  LineKind kind = LineKind::kBlank;
  std::string_view text, label;
  std::string pattern;  // of kRuler and kOther
};
using Lines = std::vector<Line>;  // of one text

bool is_other(const Line& line) {
  return line.kind == LineKind::kRuler || line.kind == LineKind::kOther;
}

size_t indentation(std::string_view line) { return line.find_first_not_of(" \t"); }

// `continues`: lines that are indented deeper than a label go on with its value, though they look
// like another label.
std::vector<Lines> lines_in(const std::vector<std::string>& texts, const Style& style,
                            bool continues) {
  constexpr size_t kNone = std::string_view::npos;
  std::vector<Lines> all;
  for (const std::string& text : texts) {
    Lines& lines = all.emplace_back();
    size_t label_at = kNone;  // the indentation of the label whose value may go on
    for (std::string_view line : lines_of(text)) {
      while (line.starts_with('\f')) line.remove_prefix(1);
      Line one{LineKind::kOther, line, style.label(line), {}};
      if (is_blank(line)) {
        one.kind = LineKind::kBlank;
      } else if (is_ruler(line)) {
        one.kind = LineKind::kRuler;
      } else if (label_at != kNone && indentation(line) > label_at &&
                 (continues || one.label.empty())) {
        one = {LineKind::kContinued, line, {}, {}};
      } else if (!one.label.empty()) {
        one.kind = LineKind::kLabelled;
      }
      if (one.kind == LineKind::kLabelled) label_at = indentation(line);
      if (one.kind != LineKind::kLabelled && one.kind != LineKind::kContinued) label_at = kNone;
      if (is_other(one)) one.pattern = pattern_for(line);
      lines.push_back(std::move(one));
      if (lines.size() == kMostLines) break;
    }
  }
  return all;
}

size_t count_of(const std::vector<Lines>& texts, LineKind kind) {
  size_t count = 0;
  for (const Lines& lines : texts) {
    count += static_cast<size_t>(std::count_if(
        lines.begin(), lines.end(), [&](const Line& line) { return line.kind == kind; }));
  }
  return count;
}

using Ends = std::function<bool(const Line&)>;

// How the slips come out where lines of which `ends` holds end them.
struct Cut {
  size_t slips = 0;
  size_t repeated = 0;     // labels that come twice in one slip
  bool is_uneven = false;  // one slip has half as many labels as another, or fewer
  bool last_is_unended = false;
};

Cut cut(const std::vector<Lines>& texts, const Ends& ends) {
  Cut out;
  size_t fewest = SIZE_MAX, most = 0;
  std::set<std::string_view> labels;
  const auto end_slip = [&] {
    if (labels.empty()) return;
    ++out.slips;
    fewest = std::min(fewest, labels.size());
    most = std::max(most, labels.size());
    labels.clear();
  };
  for (const Lines& lines : texts) {
    for (const Line& line : lines) {
      if (line.kind == LineKind::kLabelled) out.repeated += !labels.insert(line.label).second;
      if (ends(line)) end_slip();
    }
    out.last_is_unended = out.last_is_unended || !labels.empty();
    end_slip();
  }
  out.is_uneven = out.slips > 0 && fewest * 2 <= most;
  return out;
}

// Lines that would do for an end: rulers, lines that come again, blank lines, and the last label.
struct EndCandidate {
  std::string pattern, seen;
  Ends ends;
  bool is_other = false;  // a line without a label that is not blank
  bool is_last_label = false;
};

std::vector<EndCandidate> end_candidates(const std::vector<Lines>& texts) {
  std::vector<EndCandidate> found;
  std::map<std::string, size_t> others;
  std::string last_label;
  for (const Lines& lines : texts) {
    for (const Line& line : lines) {
      if (is_other(line)) ++others[line.pattern];
      if (line.kind == LineKind::kLabelled) last_label = line.label;
    }
  }
  std::vector<std::pair<std::string, size_t>> usual(others.begin(), others.end());
  std::stable_sort(usual.begin(), usual.end(),
                   [](const auto& a, const auto& b) { return a.second > b.second; });
  usual.resize(std::min(usual.size(), kMostEnds));
  for (const auto& [pattern, count] : usual) {
    const auto ends = [pattern = pattern](const Line& line) {
      return is_other(line) && line.pattern == pattern;
    };
    found.push_back({pattern, "a line such as this ends each slip", ends, true});
  }
  found.push_back({"^$", "blank lines set the slips apart",
                   [](const Line& line) { return line.kind == LineKind::kBlank; }});
  if (!last_label.empty()) {
    found.push_back({pattern_for(last_label) + R"(\s*[:=].*)", "the last label of each slip",
                     [last_label](const Line& line) { return line.label == last_label; }, false,
                     true});
  }
  return found;
}

void take_end(const std::vector<Lines>& texts, SlipShape& shape, Ends& ends) {
  const Cut plain = cut(texts, [](const Line&) { return false; });
  shape.slips = plain.slips;
  ends = [](const Line&) { return false; };
  std::optional<Cut> best;
  EndCandidate best_candidate;
  for (const EndCandidate& candidate : end_candidates(texts)) {
    const Cut now = cut(texts, candidate.ends);
    const auto rank = [](const Cut& one, const EndCandidate& by) {
      return std::tuple(one.repeated, one.is_uneven, by.is_last_label, one.last_is_unended,
                        !by.is_other);
    };
    const bool better = !best || rank(now, candidate) < rank(*best, best_candidate);
    // Where no label comes twice, a line that ends every slip still says that each is over.
    const bool needless = plain.repeated == 0
                              ? !candidate.is_other || now.last_is_unended || now.slips < 2
                              : now.repeated >= plain.repeated;
    if (needless || !better) continue;
    best = now;
    best_candidate = candidate;
    shape.end = candidate.pattern;
    shape.end_seen = candidate.seen;
    ends = candidate.ends;
  }
  if (!best) return;
  shape.slips = best->slips;
  shape.last_is_unended = best->last_is_unended;
}

std::string without_spaces(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c != ' ' && c != '\t') out += c;
  }
  return out;
}

std::string small_letters(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c | 0x20) : c;
  return out;
}

// Labels that are one but for capitals and spaces, and in which of these they differ.
void look_at_labels(const std::vector<Lines>& texts, SlipShape& shape) {
  std::map<std::string, std::string_view> first;  // by what is left of a label
  std::set<std::string_view> known;
  for (const Lines& lines : texts) {
    for (const Line& line : lines) {
      if (line.kind != LineKind::kLabelled || !known.insert(line.label).second) continue;
      shape.distinct_labels.emplace_back(line.label);
      const std::string bare = without_spaces(line.label);
      const auto [at, is_new] = first.emplace(plain_name(bare), line.label);
      if (is_new) continue;
      const bool same_letters = without_spaces(at->second) == bare;
      shape.differs_in_case = shape.differs_in_case || !same_letters;
      shape.differs_in_space = shape.differs_in_space || same_letters ||
                               small_letters(at->second) != small_letters(line.label);
    }
  }
}

}  // namespace

std::optional<SlipShape> slip_shape(const std::vector<std::string>& texts) {
  std::optional<SlipShape> best;
  for (const Style& style : kStyles) {
    std::vector<Lines> lines = lines_in(texts, style, false);
    if (count_of(lines, LineKind::kContinued) > 0) lines = lines_in(texts, style, true);
    SlipShape shape;
    shape.labels = style.pattern;
    shape.labelled = count_of(lines, LineKind::kLabelled);
    shape.continued = count_of(lines, LineKind::kContinued);
    if (shape.labelled == 0 || (best && best->labelled >= shape.labelled)) continue;
    if (count_of(lines, LineKind::kOther) > 3 * shape.labelled) continue;
    Ends ends;
    take_end(lines, shape, ends);
    look_at_labels(lines, shape);
    for (const Lines& of_text : lines) {
      for (const Line& line : of_text) {
        if (!is_other(line) || ends(line)) continue;
        ++shape.ignored;
        const auto known = std::find(shape.ignore.begin(), shape.ignore.end(), line.pattern);
        if (known == shape.ignore.end() && shape.ignore.size() < kMostIgnored) {
          shape.ignore.push_back(line.pattern);
        }
      }
    }
    best = std::move(shape);
  }
  return best;
}

}  // namespace girdle::draft
