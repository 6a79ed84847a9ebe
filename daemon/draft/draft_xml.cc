// The reader `xml`: which element is a record, and what beside it goes with each.
#include <algorithm>

#include "draft/evidence.h"
#include "draft/proposal.h"
#include "draft/record_names.h"
#include "draft/xml_elements.h"

namespace girdle::draft {
namespace {

using Elements = std::vector<XmlElements>;

std::string shown_path(const std::vector<std::string>& path) {
  std::string text;
  for (const std::string& name : path) text += '/' + name;
  return text;
}

bool lies_in(const XmlElements& inner, const XmlElements& outer) {
  return inner.path.size() > outer.path.size() &&
         std::equal(outer.path.begin(), outer.path.end(), inner.path.begin());
}

std::string_view without_prefix(std::string_view name) {
  const size_t colon = name.find(':');
  return colon == name.npos ? name : name.substr(colon + 1);
}

// The names of single values that such an element has: its attributes, and what lies in it with
// text, as long as nothing on the way repeats.
std::vector<std::string_view> field_names(const XmlElements& element, const Elements& all) {
  std::vector<std::string_view> names(element.attributes.begin(), element.attributes.end());
  for (const XmlElements& inner : all) {
    if (!lies_in(inner, element)) continue;
    if (inner.count > element.count) continue;
    if (inner.holds_text) names.push_back(without_prefix(inner.path.back()));
    names.insert(names.end(), inner.attributes.begin(), inner.attributes.end());
  }
  return names;
}

struct Rank {
  size_t usual = 0;           // fields that a record usually has
  bool is_innermost = false;  // nothing in it repeats
  bool repeats = false;       // several in one parent
  size_t fields = 0;
  size_t count = 0;
  auto operator<=>(const Rank&) const = default;
};

Rank rank_of(const XmlElements& element, const Elements& all) {
  Rank rank;
  const auto names = field_names(element, all);
  rank.usual = static_cast<size_t>(std::count_if(names.begin(), names.end(), &is_of_a_record));
  rank.is_innermost = std::none_of(all.begin(), all.end(), [&](const XmlElements& inner) {
    return lies_in(inner, element) && inner.count > inner.parents;
  });
  rank.repeats = element.count > element.parents && element.parents > 0;
  rank.fields = std::min<size_t>(names.size(), 3);
  rank.count = element.count;
  return rank;
}

const XmlElements* likeliest(const Elements& elements) {
  const XmlElements* best = &elements.front();
  Rank best_rank = rank_of(*best, elements);
  for (const XmlElements& element : elements) {
    const Rank rank = rank_of(element, elements);
    if (!(rank > best_rank)) continue;
    best = &element;
    best_rank = rank;
  }
  return best;
}

// Elements beside the way to a record, before the first of them, that say what is often said once.
std::string context_of(const XmlElements& record, const Elements& all) {
  std::string context;
  for (size_t up = 1; up < record.path.size(); ++up) {
    const std::vector<std::string> around(record.path.begin(),
                                          record.path.end() - static_cast<ptrdiff_t>(up));
    for (const XmlElements& beside : all) {
      const bool is_child = beside.path.size() == around.size() + 1 &&
                            std::equal(around.begin(), around.end(), beside.path.begin());
      const bool leads = lies_in(record, beside) || beside.path == record.path;
      if (!is_child || leads || beside.first_at > record.first_at) continue;
      if (beside.count > beside.parents) continue;  // comes twice in one
      auto names = field_names(beside, all);
      names.push_back(without_prefix(beside.path.back()));
      if (std::none_of(names.begin(), names.end(), &may_be_shared)) continue;
      std::string way;
      for (size_t i = 0; i < up; ++i) way += "../";
      context += (context.empty() ? "" : ", ") + way + beside.path.back();
    }
  }
  return context;
}

}  // namespace

std::vector<Proposal> propose_xml(const Look& look) {
  if (look.text.form == TextForm::kBinary) return {};
  const auto elements = xml_elements(look.texts);
  if (!elements) return {};
  const XmlElements* record = likeliest(*elements);
  Proposal proposal;
  proposal.reader = "xml";
  proposal.likeliness = 1;
  proposal.options.push_back(
      settled("record", shown_path(record->path), counted(record->count, "element")));
  if (std::string context = context_of(*record, *elements); !context.empty()) {
    proposal.options.push_back(settled("context", context, "said once, for the records behind it"));
  }
  const bool repeats = std::any_of(elements->begin(), elements->end(), [&](const auto& element) {
    return element.repeats_children && (&element == record || lies_in(element, *record));
  });
  if (repeats) {
    proposal.options.push_back(
        settled("repeated", "number", "child elements of one name come twice in one"));
  }
  for (const XmlElements& other : *elements) {
    const bool may_be = &other != record && other.count > other.parents && other.parents > 0 &&
                        !field_names(other, *elements).empty();
    if (may_be) {
      proposal.evidence.push_back("records could also be " + shown_path(other.path) + " (" +
                                  counted(other.count, "element") + ")");
    }
  }
  return {proposal};
}

}  // namespace girdle::draft
