// The reader `sheet`: a workbook, told by the first bytes of its ZIP archive and the names of the
// files inside. Which row names the columns, the trial of several shows.
#include <algorithm>

#include "draft/proposal.h"

namespace girdle::draft {
namespace {

constexpr size_t kMostHeaderRows = 8;

// Local file headers (APPNOTE.TXT, 4.3.7) hold the names as they are.
bool is_workbook(std::string_view bytes) {
  using namespace std::string_view_literals;
  return bytes.starts_with("PK\x03\x04"sv) && bytes.find("[Content_Types].xml") != bytes.npos &&
         bytes.find("xl/workbook.xml") != bytes.npos;
}

}  // namespace

std::vector<Proposal> propose_sheet(const Look& look) {
  const bool all = std::all_of(look.samples.begin(), look.samples.end(),
                               [](const Sample& sample) { return is_workbook(sample.bytes); });
  if (!all) return {};
  std::vector<Proposal> proposals;
  for (size_t row = 1; row <= kMostHeaderRows; ++row) {
    Proposal& proposal = proposals.emplace_back();
    proposal.reader = "sheet";
    proposal.likeliness = 0.9 - 0.01 * static_cast<double>(row);
    proposal.evidence.push_back("a workbook of Office Open XML; its first sheet");
    if (row > 1) {
      proposal.options.push_back(
          settled("header", std::to_string(row), "the row that names the columns"));
    }
  }
  Proposal& without = proposals.emplace_back();
  without.reader = "sheet";
  without.likeliness = 0.6;
  without.options.push_back(settled("header", "0", "the first row has values and no names"));
  return proposals;
}

}  // namespace girdle::draft
