#include "draft/choice.h"

#include <algorithm>

#include "base/text.h"
#include "draft/column_names.h"
#include "draft/evidence.h"
#include "draft/plausible_text.h"

namespace girdle::draft {
namespace {

using reading::Catalogue;

constexpr size_t kMostTried = 256 << 10;  // bytes of each sample, with each encoding
constexpr size_t kMostGroups = 6;         // of encodings, shown
constexpr size_t kMostShownBytes = 60;    // of a text in each

const reading::OptionRule* encoding_rule(const Catalogue& catalogue, const std::string& reader) {
  const reading::Manifest* const manifest = catalogue.find(reader);
  if (manifest == nullptr) return nullptr;
  const auto at = std::find_if(manifest->options.begin(), manifest->options.end(),
                               [](const auto& option) { return option.name == "encoding"; });
  return at == manifest->options.end() ? nullptr : &*at;
}

// All texts beyond ASCII that a trial gave, each once.
std::string beyond_ascii(const Trial& trial) {
  std::vector<std::string_view> texts;
  const auto keep = [&](std::string_view text) {
    const bool beyond = std::any_of(text.begin(), text.end(),
                                    [](char c) { return static_cast<unsigned char>(c) >= 0x80; });
    if (beyond && std::find(texts.begin(), texts.end(), text) == texts.end()) texts.push_back(text);
  };
  for (const RawRecord& record : trial.records) {
    if (texts.size() > 40) break;
    for (const auto& [name, text] : record.fields) {
      keep(name);
      keep(text);
    }
  }
  std::string all;
  for (const std::string_view text : texts) {
    if (!all.empty()) all += ", ";
    all += text;
  }
  return all;
}

// The likelier first, where the texts do not tell; common practice.
std::vector<std::string> in_usual_order(std::vector<std::string> encodings) {
  constexpr std::string_view kUsual[] = {"windows-1252", "windows-1251", "windows-1250", "gb18030",
                                         "shift_jis",    "big5",         "euc-kr"};
  const auto rank = [&](const std::string& encoding) {
    return std::find(std::begin(kUsual), std::end(kUsual), encoding) - std::begin(kUsual);
  };
  std::stable_sort(encodings.begin(), encodings.end(),
                   [&](const auto& a, const auto& b) { return rank(a) < rank(b); });
  return encodings;
}

struct Group {
  std::vector<std::string> encodings;
  std::string text;
  int plausibility = 0;
};

// The encodings by which the reader sets least aside, those that give the same texts together.
std::vector<Group> encodings_that_fit(const Catalogue& catalogue, const Proposal& proposal,
                                      const reading::OptionRule& rule, const Samples& samples) {
  std::vector<Group> groups;
  uint64_t least = UINT64_MAX;
  Samples beginnings = samples;
  for (Sample& sample : beginnings) {
    if (sample.bytes.size() <= kMostTried) continue;
    sample.bytes.resize(sample.bytes.rfind('\n', kMostTried) + 1);
  }
  for (const std::string& encoding : in_usual_order(rule.choices)) {
    if (encoding.starts_with("utf-")) continue;
    reading::Options options = tried_options(proposal);
    options.emplace_back("encoding", encoding);
    const Trial trial = try_reader(catalogue, proposal.reader, options, beginnings);
    const uint64_t aside = trial.bytes_aside();
    if (!trial.refusal.empty() || trial.records.empty() || aside > least) continue;
    if (aside < least) groups.clear();
    least = aside;
    const std::string text = beyond_ascii(trial);
    const auto same = std::find_if(groups.begin(), groups.end(),
                                   [&](const Group& group) { return group.text == text; });
    if (same != groups.end()) {
      same->encodings.push_back(encoding);
    } else {
      groups.push_back({{encoding}, text, plausibility(text)});
    }
  }
  std::stable_sort(groups.begin(), groups.end(),
                   [](const Group& a, const Group& b) { return a.plausibility > b.plausibility; });
  return groups;
}

void ask_for_encoding(const std::vector<Group>& groups, const TextLook& look, Proposal& proposal) {
  std::vector<std::string> candidates;
  for (const Group& group : groups) {
    candidates.insert(candidates.end(), group.encodings.begin(), group.encodings.end());
  }
  proposal.options.push_back(open_setting("encoding", candidates, evidence_of(look)));
  proposal.evidence.push_back("which encoding is right, a person sees by the text:");
  for (size_t i = 0; i < std::min(groups.size(), kMostGroups); ++i) {
    proposal.evidence.push_back("  " + listed(groups[i].encodings, "or") + ": " +
                                base::excerpt(groups[i].text, kMostShownBytes));
  }
  if (groups.size() > kMostGroups) {
    proposal.evidence.push_back("  and " + counted(groups.size() - kMostGroups, "way") +
                                " more that look less like text");
  }
  if (!candidates.empty()) {
    proposal.evidence.push_back("the mapping is drafted with " + candidates.front() +
                                "; for another, draft again with --option encoding=NAME");
  }
}

// Adds the option `encoding` where the reader has it and the text needs it.
void add_encoding(const Catalogue& catalogue, const Look& look, Proposal& proposal) {
  const reading::OptionRule* const rule = encoding_rule(catalogue, proposal.reader);
  if (rule == nullptr) return;
  if (look.said_option("encoding")) return;
  if (look.text.form == TextForm::kUndecided) {
    ask_for_encoding(encodings_that_fit(catalogue, proposal, *rule, look.samples), look.text,
                     proposal);
    return;
  }
  const std::string_view encoding = encoding_option(look.text.form);
  if (!encoding.empty()) {
    proposal.options.push_back(settled("encoding", std::string(encoding), evidence_of(look.text)));
  } else {
    proposal.evidence.push_back("encoding: " + evidence_of(look.text));
  }
}

std::string options_shown(const Proposal& proposal) {
  std::string text = proposal.reader;
  for (const Setting& option : proposal.options) {
    text += ' ' + option.name + "=" + base::excerpt(option.tried(), 24);
  }
  return text;
}

std::string outcome_shown(const Trial& trial, const Samples& samples) {
  if (!trial.refusal.empty()) return trial.refusal;
  std::string text = counted(trial.records.size(), "record");
  if (trial.asides.empty()) return text;
  text += ", and " + std::to_string(trial.asides.size()) + " set aside, the first: ";
  return text + shown(trial.asides.front(), samples);
}

// Names that say what a column is count a little, and names that look like values against it: of
// a sheet's rows that may name the columns, the right one so comes first.
double worth_of_names(const Trial& trial) {
  size_t usual = 0;
  bool values = false;
  for (const auto& [name, text] : trial.records.front().fields) {
    const auto meanings = meanings_of(name);
    usual += !meanings.empty() && meanings.front().strength > 1;
    const size_t digit = name.find_first_of("0123456789");
    const size_t mark = name.find_first_of(".:-", digit);
    values = values || (digit == 0 && mark != name.npos && mark + 1 < name.size());
  }
  return (0.85 + 0.05 * static_cast<double>(std::min<size_t>(usual, 3))) * (values ? 0.6 : 1.0);
}

// A clean trial counts for more than one with something aside, and that less the more it is; but a
// single bad row does not make a table a list of lines.
double worth(const Chosen& one, uint64_t bytes) {
  if (!one.trial.refusal.empty() || one.trial.records.empty()) return 0;
  const double likely = one.proposal.likeliness * worth_of_names(one.trial);
  if (one.trial.is_clean()) return likely;
  const double share =
      static_cast<double>(one.trial.bytes_aside()) / static_cast<double>(bytes + 1);
  return likely * 0.8 * std::max(0.0, 1 - 3 * share);
}

}  // namespace

reading::Options tried_options(const Proposal& proposal) {
  reading::Options options;
  for (const Setting& option : proposal.options) {
    if (option.tried() != kFillIn) options.emplace_back(option.name, option.tried());
  }
  return options;
}

std::string shown(const RawAside& aside, const Samples& samples) {
  std::string text = base::excerpt(samples[aside.sample].name);
  if (aside.line > 0) text += ", line " + std::to_string(aside.line);
  return text + ": " + aside.reason;
}

base::Result<Chosen> choose(const Catalogue& catalogue, const Look& look,
                            const std::string& reader,
                            const std::optional<reading::Isolation>& isolation) {
  std::optional<Chosen> best;
  double best_worth = 0;
  std::vector<std::string> tried;
  uint64_t bytes = 0;
  for (const Sample& sample : look.samples) bytes += sample.bytes.size();
  for (Proposal& proposal : proposals_for(look, reader)) {
    if (catalogue.find(proposal.reader) == nullptr || proposal.likeliness <= best_worth) continue;
    Chosen one;
    one.proposal = std::move(proposal);
    if (!isolation) add_encoding(catalogue, look, one.proposal);
    one.trial =
        try_reader(catalogue, one.proposal.reader, tried_options(one.proposal), look.samples, isolation);
    tried.push_back(options_shown(one.proposal) + ": " + outcome_shown(one.trial, look.samples));
    const double value = worth(one, bytes);
    if (value <= best_worth) continue;
    best = std::move(one);
    best_worth = value;
  }
  if (!best) {
    std::string text = "no reader finds a record in it";
    for (const std::string& one : tried) text += "\n  tried " + one;
    return base::input_error(std::move(text));
  }
  best->remarks = std::move(tried);
  return std::move(*best);
}

}  // namespace girdle::draft
