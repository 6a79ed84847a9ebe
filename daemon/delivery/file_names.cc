#include "delivery/file_names.h"

#include <algorithm>
#include <iterator>

#include "base/percent.h"
#include "base/text.h"
#include "base/time.h"

namespace girdle::delivery {

struct FileNames::Placeholder {
  std::string_view name;
  Part part;
  size_t room;  // bytes that the value has at least; what cannot be cut takes no more
};

// An id is a ledger's eight letters and digits and two numbers (model::event_id).
constexpr FileNames::Placeholder FileNames::kPlaceholders[] = {
    {"id", Part::kId, 48},
    {"time", Part::kTime, 19},
    {"stock_number", Part::kStockNumber, 16},
    {"site", Part::kSite, 16},
    {"disposition", Part::kDisposition, 7},
    {"sequence", Part::kSequence, 19},
    {"count", Part::kCount, 6},
};

namespace {

bool is_plain(char c) {
  return base::is_letter(c) || base::is_digit(c) || c == '.' || c == '_' || c == '-';
}

std::string safe(std::string_view value) {
  std::string out;
  for (size_t i = 0; i < value.size(); ++i) {
    const char c = value[i];
    const bool at_edge = (i == 0 && (c == '.' || c == '-')) || (i + 1 == value.size() && c == '.');
    if (is_plain(c) && !at_edge) {
      out += c;
    } else {
      base::append_percent(out, c);
    }
  }
  return out;
}

// By whole characters, so that no half of an escape is left.
void cut_to(std::string& text, size_t bytes) {
  if (text.size() <= bytes) return;
  const size_t from = bytes < 2 ? 0 : bytes - 2;
  const size_t escape = text.find('%', from);
  text.resize(escape < bytes ? escape : bytes);
  while (text.ends_with('.')) text.pop_back();
}

// "20261102T101530123Z"
std::string compact_time(base::Instant instant) {
  std::string text = base::format_rfc3339(instant);
  std::erase_if(text, [](char c) { return c == '-' || c == ':' || c == '.'; });
  return text;
}

bool is_fit_for_names(char c) {
  return !base::is_control(c) && c != '/' && c != '\\';
}

}  // namespace

std::string FileName::numbered(unsigned number) const {
  return number == 1 ? whole() : stem + '-' + std::to_string(number) + extension;
}

std::optional<FileNames::Part> FileNames::part_of(std::string_view name) {
  for (const Placeholder& known : kPlaceholders) {
    if (known.name == name) return known.part;
  }
  return std::nullopt;
}

std::string FileNames::known_placeholders() {
  std::vector<std::string> names;
  for (const Placeholder& known : kPlaceholders)
    names.push_back('{' + std::string(known.name) + '}');
  return base::listed(names);
}

std::optional<FileNames> FileNames::compile(const config::DropFolder& folder,
                                            std::string_view extension,
                                            const config::Report& report) {
  std::string pattern = folder.name;
  if (pattern.empty()) pattern = std::string(kDefault) + '.' + std::string(extension);
  FileNames names;
  if (!names.split(pattern, folder.name_mark, report)) return std::nullopt;
  if (!names.check(folder.name_mark, report)) return std::nullopt;
  names.take_extension();
  return names;
}

// Into constants and placeholders.
bool FileNames::split(std::string_view pattern, const model::Mark& mark,
                      const config::Report& report) {
  while (!pattern.empty()) {
    const size_t open = std::min(pattern.find('{'), pattern.size());
    if (open > 0) pieces_.push_back({Part::kConstant, std::string(pattern.substr(0, open))});
    pattern.remove_prefix(open);
    if (pattern.empty()) break;
    const size_t close = pattern.find('}');
    if (close == std::string_view::npos) {
      report(mark, "a \"{\" of the file name has no \"}\"");
      return false;
    }
    const std::string_view name = pattern.substr(1, close - 1);
    const auto part = part_of(name);
    if (!part) {
      report(mark, base::in_quotes("{" + std::string(name) + "}") +
                       " stands for nothing in a file name; there is " + known_placeholders());
      return false;
    }
    pieces_.push_back({*part, {}});
    pattern.remove_prefix(close + 1);
  }
  return true;
}

bool FileNames::check(const model::Mark& mark, const config::Report& report) const {
  const size_t before = report.count();
  for (const Piece& piece : pieces_) {
    if (piece.text.find('}') != std::string::npos)
      report(mark, "a \"}\" of the file name has no \"{\"");
    if (!std::all_of(piece.text.begin(), piece.text.end(), is_fit_for_names)) {
      report(
          mark,
          "a file name has no \"/\", \"\\\" or control character; the folder is given by `path`");
    }
  }
  if (pieces_.front().text.starts_with('.')) {
    report(
        mark,
        "a file name that begins with \".\" is hidden; files that are not yet whole are called so");
  }
  if (!has(Part::kId)) {
    report(mark,
           "the file name has no {id}: files of two outcomes would have one name; for example \"" +
               std::string(kDefault) + ".csv\"");
  }
  if (longest() > kMostBytes) {
    report(mark, "the file name may become " + std::to_string(longest()) + " bytes long; at most " +
                     std::to_string(kMostBytes) + " are right: leave something out");
  }
  return report.count() == before;
}

bool FileNames::has(Part part) const {
  return std::any_of(pieces_.begin(), pieces_.end(),
                     [part](const Piece& piece) { return piece.part == part; });
}

// With stock numbers and sites cut as far as they may be.
size_t FileNames::longest() const {
  size_t bytes = 0;
  for (const Piece& piece : pieces_) {
    bytes += piece.text.size();
    for (const Placeholder& known : kPlaceholders) {
      if (known.part == piece.part) bytes += known.room;
    }
  }
  return bytes;
}

// Only of the pattern's own text: a dot in a stock number begins no extension.
void FileNames::take_extension() {
  std::string& last = pieces_.back().text;
  const size_t dot = last.rfind('.');
  if (dot == std::string::npos) return;
  extension_ = last.substr(dot);
  last.resize(dot);
}

std::string FileNames::value(Part part, const model::Outcome& first, size_t count, base::Instant written) {
  switch (part) {
    case Part::kConstant:
      return {};
    case Part::kId:
      return model::event_id(first);
    case Part::kTime:
      return compact_time(written);
    case Part::kStockNumber:
      return first.stock_number;
    case Part::kSite:
      return first.site;
    case Part::kDisposition:
      return std::string(model::text(first.decision.disposition));
    case Part::kSequence:
      return std::to_string(first.sequence);
    case Part::kCount:
      return std::to_string(count);
  }
  return {};
}

FileName FileNames::name(const model::Outcome& first, size_t count, base::Instant written) const {
  std::vector<std::string> texts;
  size_t fixed = extension_.size(), cuttable = 0;
  const auto may_be_cut = [](const Piece& piece) {
    return piece.part == Part::kStockNumber || piece.part == Part::kSite;
  };
  for (const Piece& piece : pieces_) {
    texts.push_back(piece.part == Part::kConstant ? piece.text
                                                  : safe(value(piece.part, first, count, written)));
    if (may_be_cut(piece)) {
      ++cuttable;
    } else {
      fixed += texts.back().size();
    }
  }
  FileName name{{}, extension_};
  size_t room = kMostBytes - std::min(fixed, kMostBytes);
  for (size_t i = 0; i < pieces_.size(); ++i) {
    if (may_be_cut(pieces_[i])) {
      cut_to(texts[i], room / cuttable--);
      room -= texts[i].size();
    }
    name.stem += texts[i];
  }
  if (name.stem.starts_with('.')) name.stem.front() = '_';  // behind an empty value
  return name;
}

}  // namespace girdle::delivery
