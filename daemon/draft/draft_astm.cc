// The reader `astm`: records after ASTM E1394, told by the header that says its own delimiters.
#include <algorithm>

#include "draft/evidence.h"
#include "draft/proposal.h"
#include "draft/text_lines.h"

namespace girdle::draft {
namespace {

// H, then the delimiters of fields, repeats, components and escapes, all different.
bool is_header(std::string_view line) {
  if (line.size() < 5 || line.front() != 'H') return false;
  const std::string_view marks = line.substr(1, 4);
  for (size_t i = 0; i < marks.size(); ++i) {
    const char c = marks[i];
    const bool letter = (c | 0x20) >= 'a' && (c | 0x20) <= 'z';
    if (letter || (c >= '0' && c <= '9') || c <= ' ' || marks.find(c, i + 1) != marks.npos) {
      return false;
    }
  }
  return line.size() == 5 || line[5] == line[1];
}

}  // namespace

std::vector<Proposal> propose_astm(const Look& look) {
  size_t headers = 0, results = 0, ends = 0, others = 0;
  for (const std::string& text : look.texts) {
    for (const std::string_view line : lines_of(text)) {
      if (is_blank(line)) continue;
      headers += is_header(line);
      results += line.front() == 'R';
      ends += line.front() == 'L';
      others += std::string_view("HPORLCQMS").find(line.front()) == std::string_view::npos;
    }
  }
  if (headers == 0 || results == 0 || others * 10 > results) return {};
  Proposal proposal;
  proposal.reader = "astm";
  proposal.likeliness = 1;
  proposal.evidence.push_back(counted(headers, "header record") + " and " +
                              counted(results, "result record") + " after ASTM E1394");
  if (ends < headers) {
    proposal.options.push_back(settled(
        "terminator", "optional", counted(headers - ends, "message") + " without an L record"));
  }
  Proposal kept = proposal;
  kept.likeliness = 0.95;
  kept.options.push_back(
      settled("escapes", "keep", "the escape character stands in texts that are no sequences"));
  return {proposal, kept};
}

}  // namespace girdle::draft
