// The reader `json`: where its records are, and what of the objects around goes with them.
#include <algorithm>

#include "draft/evidence.h"
#include "draft/json_levels.h"
#include "draft/proposal.h"
#include "draft/record_names.h"

namespace girdle::draft {
namespace {

// By which levels compare: likelier that of the records, the greater.
struct Rank {
  size_t usual = 0;  // fields that a record usually has
  bool is_array = false;
  size_t objects = 0;
  auto operator<=>(const Rank&) const = default;
};

Rank rank_of(const JsonLevel& level) {
  const auto usual = std::count_if(level.members.begin(), level.members.end(),
                                   [](auto& member) { return is_of_a_record(member.first); });
  // A list of objects is likelier than the one around it, which may have a number or a date too.
  return {static_cast<size_t>(usual) + (level.is_array ? 1 : 0), level.is_array, level.objects};
}

struct RankedLevel {
  JsonLevel level;
  Rank rank;
};

// The likeliest first.
std::vector<RankedLevel> ranked(const std::vector<JsonLevel>& levels) {
  std::vector<RankedLevel> all;
  for (const JsonLevel& level : levels) all.push_back({level, rank_of(level)});
  std::stable_sort(all.begin(), all.end(),
                   [](const RankedLevel& a, const RankedLevel& b) { return a.rank > b.rank; });
  return all;
}

std::string shown(const JsonLevel& level) {
  const std::string where = level.pointer.empty()
                                ? (level.is_array ? "the array" : "the document itself")
                                : in_quotes(level.pointer);
  return where + " (" + counted(level.objects, "object") + ")";
}

// `member`: as tokens of a JSON Pointer.
std::string context_name(size_t levels_up, std::string_view member) {
  std::string name;
  for (size_t i = 0; i <= levels_up; ++i) name += "../";
  return name.append(member);
}

void add_context(const JsonLevel& level, Proposal& proposal) {
  std::string context;
  std::vector<std::string> others;
  for (size_t up = 0; up < level.around.size(); ++up) {
    const JsonLevel::Around& around = level.around[up];
    for (const auto& [member, count] : around.members) {
      if (member.empty() || member.find_first_of(",?") != member.npos) continue;
      const std::string name = context_name(up, member);
      if (!may_be_shared(member)) {
        if (member.find('/') == member.npos) others.push_back(name);
        continue;
      }
      context += (context.empty() ? "" : ", ") + name + (count < around.objects ? "?" : "");
    }
  }
  if (!context.empty()) {
    proposal.options.push_back(
        settled("context", context, "said once, for all records of an object"));
  }
  if (!others.empty() && !level.pointer.empty()) {
    others.resize(std::min<size_t>(others.size(), 8));
    proposal.evidence.push_back("around the records there are also " + listed(others, "and") +
                                ", which context could name");
  }
}

void add_records(const std::vector<RankedLevel>& levels, Proposal& proposal) {
  const JsonLevel& best = levels.front().level;
  std::vector<std::string> alike;
  for (const RankedLevel& one : levels) {
    const bool is_alike = one.rank == levels.front().rank && !one.level.pointer.empty();
    if (is_alike) alike.push_back(one.level.pointer);
  }
  if (best.pointer.empty()) {
    proposal.evidence.push_back("JSON: the records are " + shown(best));
  } else if (alike.size() > 1) {
    proposal.options.push_back(open_setting("records", alike, "each of them has as many objects"));
  } else {
    proposal.options.push_back(settled("records", best.pointer, counted(best.objects, "object")));
  }
}

}  // namespace

std::vector<Proposal> propose_json(const Look& look) {
  if (look.text.form == TextForm::kBinary) return {};
  const bool any = std::any_of(look.texts.begin(), look.texts.end(), [](const auto& text) {
    return text.find_first_not_of(" \t\r\n") != text.npos;
  });
  const auto found = any ? json_levels(look.texts) : std::nullopt;
  if (!found) return {};
  Proposal proposal;
  proposal.reader = "json";
  proposal.likeliness = 1;
  if (found->are_lines) {
    proposal.evidence.push_back("one object of JSON a line");
    return {proposal};
  }
  const std::vector<RankedLevel> levels = ranked(found->levels);
  add_records(levels, proposal);
  add_context(levels.front().level, proposal);
  for (size_t i = 1; i < levels.size(); ++i) {
    proposal.evidence.push_back("records could also be " + shown(levels[i].level));
  }
  return {proposal};
}

}  // namespace girdle::draft
