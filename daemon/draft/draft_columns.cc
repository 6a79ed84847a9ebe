// The reader `columns`: lines with fields at fixed positions.
#include <algorithm>

#include "draft/evidence.h"
#include "draft/fixed_columns.h"
#include "draft/proposal.h"

namespace girdle::draft {
namespace {

std::string fields_option(const FixedShape& shape) {
  std::string text;
  for (size_t i = 0; i < shape.fields.size(); ++i) {
    const FixedField& field = shape.fields[i];
    if (i > 0) text += ", ";
    text += field.name.empty() ? "c" + std::to_string(i + 1) : field.name;
    text += ' ' + std::to_string(field.from);
    if (field.is_open) {
      text += '-';
    } else if (field.to > field.from) {
      text += '-' + std::to_string(field.to);
    }
  }
  return text;
}

std::string ignore_option(const FixedShape& shape) {
  std::string text;
  for (const std::string& beginning : shape.ignore) {
    text += text.empty() ? "'" : ", '";
    for (const char c : beginning) text += c == '\'' ? "''" : std::string(1, c);
    text += '\'';
  }
  return text;
}

Proposal proposal_for(const FixedShape& shape, bool bytes, bool is_known) {
  Proposal proposal;
  proposal.reader = "columns";
  // One blank between fields is also how words are set apart.
  proposal.likeliness = 0.3 + (shape.rows > 2 ? 0.1 : 0.0) + (shape.same_length ? 0.1 : 0.0) +
                        (shape.narrowest_gap > 1 ? 0.1 : 0.0);
  proposal.options.push_back(settled("fields", fields_option(shape),
                                     counted(shape.rows, "line") + " with blanks between"));
  if (!shape.ignore.empty()) {
    const std::string header = "line " + std::to_string(shape.header_line) + " names the columns";
    const std::string others = "lines that are no results; look whether they may go unread";
    const bool only_header = shape.header_line > 0 && shape.ignore.size() == 1;
    proposal.options.push_back(settled("ignore", ignore_option(shape),
                                       only_header             ? header
                                       : shape.header_line > 0 ? header + "; besides " + others
                                                               : others));
  }
  if (shape.short_rows > 0) {
    proposal.options.push_back(open_setting("short", {"pad", "aside"},
                                            counted(shape.short_rows, "line") +
                                                (shape.short_rows == 1 ? " ends" : " end") +
                                                " early; pad takes what is missing for blanks"));
  }
  if (bytes) {
    proposal.options.push_back(settled(
        "count", "bytes", is_known ? "characters do not line up" : "the encoding is not known"));
  }
  return proposal;
}

}  // namespace

std::vector<Proposal> propose_columns(const Look& look) {
  if (look.text.form == TextForm::kBinary) return {};
  const bool is_known = look.text.form != TextForm::kUndecided;
  std::vector<Proposal> proposals;
  for (const bool bytes : {false, true}) {
    const bool differs = look.text.form == TextForm::kUtf8 && look.text.beyond_ascii > 0;
    if (bytes == is_known && !(bytes && differs)) continue;
    const auto shape = fixed_shape(look.texts, bytes);
    if (!shape) continue;
    proposals.push_back(proposal_for(*shape, bytes, is_known));
  }
  return proposals;
}

}  // namespace girdle::draft
