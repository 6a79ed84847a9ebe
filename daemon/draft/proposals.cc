#include <algorithm>
#include <span>

#include "base/text.h"
#include "draft/column_names.h"
#include "draft/evidence.h"
#include "draft/proposal.h"

namespace girdle::draft {
namespace {

struct Proposer {
  std::string_view reader;
  std::vector<Proposal> (*propose)(const Look&);
};

// Formats that say themselves what they are, and text that is only regular.
constexpr Proposer kSelfEvident[] = {{"sheet", &propose_sheet},
                                     {"json", &propose_json},
                                     {"xml", &propose_xml},
                                     {"astm", &propose_astm}};
constexpr Proposer kRegular[] = {{"delimited", &propose_delimited},
                                 {"labelled", &propose_labelled},
                                 {"columns", &propose_columns}};
constexpr double kSure = 0.9;  // likeliness

std::vector<Proposal> proposals_of(std::span<const Proposer> proposers, const Look& look,
                                   std::string_view reader) {
  std::vector<Proposal> all;
  for (const Proposer& one : proposers) {
    if (!reader.empty() && one.reader != reader) continue;
    for (Proposal& proposal : one.propose(look)) all.push_back(std::move(proposal));
  }
  return all;
}

// What a person said goes before what was seen.
void take_said(const Look& look, Proposal& proposal) {
  for (const auto& said : look.said) {
    std::erase_if(proposal.options,
                  [&](const Setting& setting) { return setting.name == said.first; });
    proposal.options.push_back(settled(said.first, said.second, "as you said"));
  }
}

}  // namespace

std::optional<std::string> Look::said_option(std::string_view name) const {
  for (const auto& [option, value] : said) {
    if (option == name) return value;
  }
  return std::nullopt;
}

Look look_at(Samples samples, bool are_frames,
             std::vector<std::pair<std::string, std::string>> said) {
  Look look;
  look.said = std::move(said);
  look.text = look_at_text(samples);
  for (const Sample& sample : samples) {
    look.texts.push_back(plain_text(sample.bytes, look_at_text(sample.bytes).form));
  }
  look.samples = std::move(samples);
  look.are_frames = are_frames;
  return look;
}

namespace {

// Of a reader that draft does not know: with what a person said, and its own defaults.
Proposal unknown_reader(std::string_view reader) {
  Proposal proposal;
  proposal.reader = reader;
  proposal.likeliness = 0.5;
  proposal.evidence.emplace_back("draft knows nothing of this reader's options: its own guide does");
  return proposal;
}

bool is_known(std::string_view reader) {
  const auto named = [&](const Proposer& one) { return one.reader == reader; };
  return std::ranges::any_of(kSelfEvident, named) || std::ranges::any_of(kRegular, named);
}

}  // namespace

std::vector<Proposal> proposals_for(const Look& look, std::string_view reader) {
  std::vector<Proposal> all = proposals_of(kSelfEvident, look, reader);
  if (!reader.empty() && !is_known(reader)) all.push_back(unknown_reader(reader));
  const bool is_sure = std::any_of(all.begin(), all.end(), [](const Proposal& proposal) {
    return proposal.likeliness >= kSure;
  });
  if (!is_sure) {
    for (Proposal& proposal : proposals_of(kRegular, look, reader)) {
      all.push_back(std::move(proposal));
    }
  }
  for (Proposal& proposal : all) take_said(look, proposal);
  std::stable_sort(all.begin(), all.end(), [](const Proposal& a, const Proposal& b) {
    return a.likeliness > b.likeliness;
  });
  return all;
}

std::string serial_hint(std::string_view line, size_t number) {
  const size_t mark = line.find_first_of(":=;,\t");
  if (mark == line.npos) return {};
  const std::string_view label = base::trimmed(line.substr(0, mark));
  std::string_view value = base::trimmed(line.substr(mark + 1));
  value = base::trimmed(value.substr(0, value.find_first_of(";,\t")));
  for (const NameMeaning& meaning : meanings_of(label)) {
    if (meaning.field == "instrument" && meaning.strength > 1 && !value.empty()) {
      return "line " + std::to_string(number) + " says " + in_quotes(label) + ": " +
             in_quotes(value);
    }
  }
  return {};
}

}  // namespace girdle::draft
