// The reader `delimited`: rows of fields set apart by a character.
#include <algorithm>
#include <map>
#include <set>

#include "base/text.h"
#include "draft/columns.h"
#include "draft/delimited_rows.h"
#include "draft/evidence.h"
#include "draft/header_look.h"
#include "draft/line_pattern.h"
#include "draft/proposal.h"
#include "draft/text_lines.h"

namespace girdle::draft {
namespace {

constexpr size_t kMostPatterns = 16;

std::string character(char c) { return c == '\0' ? "none" : c == '\t' ? "tab" : std::string(1, c); }

// Only what the first row of the first text with rows says.
const Row* head_of(const RowShape& shape) {
  for (const auto& rows : shape.rows) {
    if (!rows.empty()) return &rows.front();
  }
  return nullptr;
}

class DelimitedProposal {
 public:
  // `are_rows`: each text is a message of one row.
  DelimitedProposal(const Look& look, const RowShape& shape, bool are_rows)
      : look_(look), shape_(shape), are_rows_(are_rows) {}

  Proposal make() {
    out_.reader = "delimited";
    out_.likeliness = shape_.width < 2 ? 0.05 : 0.1 + 0.75 * shape_.score;
    const bool has_pages =
        std::any_of(look_.texts.begin(), look_.texts.end(),
                    [](const auto& text) { return text.find('\f') != text.npos; });
    if (has_pages) out_.likeliness *= 0.5;  // a page of print, and no table
    say_dialect();
    say_comments();
    say_header();
    say_others();
    return std::move(out_);
  }

 private:
  void add(Setting setting) { out_.options.push_back(std::move(setting)); }

  void say_dialect() {
    const Dialect& dialect = shape_.dialect;
    const bool said = std::any_of(look_.texts.begin(), look_.texts.end(),
                                  [](const auto& text) { return said_delimiter(text) != '\0'; });
    if (said) {
      out_.evidence.push_back("the first line says the delimiter: sep=" +
                              character(dialect.delimiter));
    } else if (shape_.width > 1) {
      add(settled("delimiter", character(dialect.delimiter),
                  counted(shape_.fitting, "row") + " of " +
                      std::to_string(shape_.fitting + shape_.others) +
                      (shape_.fitting == 1 ? " has " : " have ") + counted(shape_.width, "field")));
    } else {
      out_.evidence.push_back("nothing sets fields apart: one column");
    }
    if (dialect.quote == '\0') {
      add(settled("quote", "none", "quotes stand inside of fields, and not around them"));
    } else if (dialect.quote != '"') {
      add(settled("quote", std::string(1, dialect.quote), "it stands around fields"));
    }
    if (dialect.escape != '\0') {
      add(settled("escape", std::string(1, dialect.escape), "it stands before quotes in fields"));
    }
  }

  bool is_comment(std::string_view line) const {
    return shape_.dialect.comment != '\0' && line.starts_with(shape_.dialect.comment);
  }

  void say_comments() {
    if (shape_.dialect.comment == '\0') return;
    size_t comments = 0;
    for (const std::string& text : look_.texts) {
      for (const std::string_view line : lines_of(text)) comments += is_comment(line);
    }
    add(settled(
        "comment", character(shape_.dialect.comment),
        counted(comments, "line") + " that " + (comments == 1 ? "begins" : "begin") + " with it"));
  }

  // Lines before the header: all of them, and whether each text has as many.
  void say_header_line() {
    std::set<size_t> lines;
    bool before = false;
    for (size_t i = 0; i < look_.texts.size(); ++i) {
      if (shape_.rows[i].empty()) continue;
      const size_t line = shape_.rows[i].front().line;
      lines.insert(line);
      before = before || has_text_before(look_.texts[i], line);
    }
    if (!before) return;
    if (lines.size() == 1) {
      add(settled("header_line", std::to_string(*lines.begin()),
                  counted(*lines.begin() - 1, "line") + " of something else before it"));
      return;
    }
    std::string names;
    for (const std::string& cell : head_of(shape_)->cells) {
      if (cell.empty() || cell.find(',') != cell.npos) continue;
      names += (names.empty() ? "" : ",") + cell;
    }
    add(settled("header_names", names, "it does not stand on the same line in all samples"));
  }

  bool has_text_before(std::string_view text, size_t line) {
    const auto lines = lines_of(text);
    bool any = false;
    for (size_t i = 0; i + 1 < line && i < lines.size(); ++i) {
      if (i == 0 && said_delimiter(text) != '\0') continue;
      if (is_blank(lines[i]) || is_comment(lines[i])) continue;
      any = true;
      if (std::string hint = serial_hint(lines[i], i + 1); !hint.empty()) {
        out_.serial_hints.push_back(std::move(hint));
      }
    }
    return any;
  }

  void say_header() {
    HeaderFinding finding = look_at_header(shape_);
    if (const auto said = look_.said_option("header")) {
      finding = {*said == "no" ? HeaderLook::kNo : HeaderLook::kYes, "as you said"};
    }
    const Row* head = head_of(shape_);
    if (head == nullptr) return;
    if (are_rows_) return say_messages(*head, finding);
    switch (finding.look) {
      case HeaderLook::kYes:
        out_.evidence.push_back("line " + std::to_string(head->line) +
                                " names the columns: " + finding.evidence);
        break;
      case HeaderLook::kNo:
        add(settled("header", "no", finding.evidence));
        return;
      case HeaderLook::kUndecided:
        add(open_setting("header", {"yes", "no"}, finding.evidence));
        break;
    }
    say_header_line();
    std::set<std::string> names(head->cells.begin(), head->cells.end());
    if (names.size() < head->cells.size()) {
      add(settled("repeated", "number", "two columns have one name"));
    }
  }

  // Each message is a row and a document: a header would come with all of them, or is one itself.
  void say_messages(const Row& head, const HeaderFinding& finding) {
    add(settled("header", "no", "each message is one row"));
    if (!looks_like_names(head, finding)) return;
    std::string names;
    for (const std::string& cell : head.cells) names += (names.empty() ? "" : ",") + cell;
    add(settled("columns", names, "as the first message names them"));
    add(settled("ignore", pattern_for(head.source), "the message that names the columns"));
  }

  bool looks_like_names(const Row& head, const HeaderFinding& finding) const {
    size_t rows = 0;
    for (const auto& of_text : shape_.rows) rows += of_text.size();
    const bool plain = std::none_of(head.cells.begin(), head.cells.end(), [](const auto& cell) {
      return cell.empty() || cell.find(',') != cell.npos;
    });
    return plain && rows > 1 && finding.look == HeaderLook::kYes;
  }

  // What cells of the first column look like: "17" may be a short row in a file of which each row
  // begins with a number; a title or a total is not.
  std::set<std::string> first_cells() const {
    std::set<std::string> patterns;
    for (const auto& rows : shape_.rows) {
      for (size_t i = 1; i < rows.size(); ++i) {
        const auto& cells = rows[i].cells;
        if (cells.size() == shape_.width) patterns.insert(short_pattern_of(cells.front()));
      }
    }
    return patterns;
  }

  void say_others() {
    const std::set<std::string> usual = first_cells();
    std::vector<std::string> patterns;
    size_t short_rows = 0, ignored = 0;
    for (const auto& rows : shape_.rows) {
      for (const Row& row : rows) {
        if (row.cells.size() >= shape_.width) continue;
        if (row.cells.size() > 1 || usual.contains(short_pattern_of(row.cells.front()))) {
          ++short_rows;
          continue;
        }
        ++ignored;
        const std::string pattern = pattern_for(row.source);
        const bool known = std::find(patterns.begin(), patterns.end(), pattern) != patterns.end();
        if (!known && patterns.size() < kMostPatterns) patterns.push_back(pattern);
      }
    }
    if (short_rows > 0) {
      add(open_setting(
          "short", {"pad", "aside"},
          counted(short_rows, "row") + " with fewer fields; pad takes the last as empty"));
    }
    // Titles and totals are fewer than the rows; other lines are set aside, and told.
    if (patterns.empty() || ignored > shape_.fitting) return;
    std::string all;
    for (const std::string& pattern : patterns) all += (all.empty() ? "" : "\n") + pattern;
    add(settled("ignore", all,
                counted(ignored, "line") + " that " + (ignored == 1 ? "is" : "are") +
                    " no row; look whether they may go unread"));
  }

  const Look& look_;
  const RowShape& shape_;
  const bool are_rows_;
  Proposal out_;
};

bool are_rows_by_themselves(const Look& look) {
  return look.are_frames && std::all_of(look.texts.begin(), look.texts.end(),
                                        [](const auto& text) { return lines_of(text).size() < 2; });
}

std::string joined(const std::vector<std::string>& texts) {
  std::string all;
  for (const std::string& text : texts) {
    all += text;
    if (!text.ends_with('\n') && !text.ends_with('\r')) all += '\n';
  }
  return all;
}

// Two delimiters by which the text is as regular: a person has to say.
constexpr double kAlike = 0.95;

}  // namespace

std::vector<Proposal> propose_delimited(const Look& look) {
  if (look.text.form == TextForm::kBinary) return {};
  const std::string said = look.said_option("delimiter").value_or("");
  const char delimiter = said == "tab" || said == "\\t" ? '\t'
                         : said.size() == 1             ? said.front()
                                                        : '\0';
  const bool are_rows = are_rows_by_themselves(look);
  const auto texts = are_rows ? std::vector<std::string>{joined(look.texts)} : look.texts;
  const std::vector<RowShape> shapes = row_shapes(texts, delimiter);
  std::vector<Proposal> proposals;
  for (size_t i = 0; i < std::min<size_t>(shapes.size(), 3); ++i) {
    proposals.push_back(DelimitedProposal(look, shapes[i], are_rows).make());
  }
  const auto is_usual = [](const RowShape& shape) {
    return std::string_view(",;\t|").find(shape.dialect.delimiter) != std::string_view::npos;
  };
  const bool alike = shapes.size() > 1 && shapes[0].width > 1 && shapes[1].width > 1 &&
                     is_usual(shapes[0]) && is_usual(shapes[1]) &&
                     shapes[1].score >= kAlike * shapes[0].score;
  if (!alike) return proposals;
  for (Setting& option : proposals.front().options) {
    if (option.name != "delimiter") continue;
    option = open_setting(
        "delimiter",
        {character(shapes[0].dialect.delimiter), character(shapes[1].dialect.delimiter)},
        "both cut the rows into fields as regularly");
  }
  return proposals;
}

}  // namespace girdle::draft
