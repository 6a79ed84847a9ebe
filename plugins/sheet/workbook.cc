#include "sheet/workbook.h"

#include <map>
#include <pugixml.hpp>
#include <vector>

#include "kit/text.h"
#include "sheet/whole_number.h"
#include "xml/element_path.h"

namespace girdle::sheet {

namespace {

// What relationships are called by, in the two forms of the standard (part 1 and part 4).
constexpr std::string_view kTransitional =
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships/";
constexpr std::string_view kStrict = "http://purl.oclc.org/ooxml/officeDocument/relationships/";
constexpr std::string_view kNoWorkbook = "no workbook of Office Open XML (.xlsx)";
constexpr size_t kMostListed = 200;  // bytes of names in a reason
constexpr size_t kMostRelations = 65'536;

struct Relation {
  std::string kind;  // worksheet, styles and the like; empty for what is not of the standard
  std::string target;
  bool outside = false;
};
using Relations = std::map<std::string, Relation, std::less<>>;  // by their ids

std::string kind_of(std::string_view type) {
  for (const std::string_view base : {kTransitional, kStrict}) {
    if (type.starts_with(base)) return std::string(type.substr(base.size()));
  }
  return {};
}

// The part that holds the relationships of another; of the workbook as a whole for "".
std::string relations_part(std::string_view part) {
  const size_t slash = part.rfind('/');
  const size_t name = slash == std::string_view::npos ? 0 : slash + 1;
  return std::string(part.substr(0, name)) + "_rels/" + std::string(part.substr(name)) + ".rels";
}

std::string read_relations(const Package& package, const std::string& part,
                           const PartLimits& limits, Relations& relations) {
  return each_node(package, relations_part(part), "/Relationships/Relationship", limits,
                   [&](pugi::xml_node one) {
                     Relation relation{kind_of(attribute(one, "Type")),
                                       resolved(part, attribute(one, "Target")),
                                       attribute(one, "TargetMode") == "External"};
                     relations.emplace(attribute(one, "Id"), std::move(relation));
                     return relations.size() < kMostRelations;
                   });
}

const Relation* of_kind(const Relations& relations, std::string_view kind) {
  for (const auto& [id, relation] : relations) {
    if (relation.kind == kind && !relation.outside) return &relation;
  }
  return nullptr;
}

struct Listed {
  std::string name;
  std::string relation;
};

// r:id, whatever its prefix is; sheetId is another thing.
std::string relation_id(pugi::xml_node sheet) {
  for (const pugi::xml_attribute one : sheet.attributes()) {
    const std::string_view name = one.name();
    if (name.find(':') != std::string_view::npos && xml::local_part(name) == "id")
      return one.value();
  }
  return {};
}

class Choice {
 public:
  explicit Choice(std::string_view wanted) : wanted_(wanted), number_(whole_number(wanted)) {}
  // True once it is the one.
  bool take(pugi::xml_node sheet) {
    const std::string_view name = attribute(sheet, "name");
    ++seen_;
    if (number_ ? seen_ != *number_ : name != wanted_) {
      if (names_.size() < kMostListed)
        names_ += (names_.empty() ? "" : ", ") + kit::in_quotes(name);
      return false;
    }
    found_ = Listed{std::string(name), relation_id(sheet)};
    return true;
  }
  const std::optional<Listed>& found() const { return found_; }
  std::string missing() const {
    const std::string which =
        number_ ? "number " + std::string(wanted_) : "called " + kit::in_quotes(wanted_);
    return "there is no sheet " + which + "; there " + (seen_ == 1 ? "is " : "are ") +
           (names_.empty() ? "none" : names_);
  }

 private:
  const std::string_view wanted_;
  const std::optional<uint64_t> number_;  // nothing: the sheet is wanted by its name
  uint64_t seen_ = 0;
  std::string names_;
  std::optional<Listed> found_;
};

std::string read_dates(const Package& package, const std::string& part, const PartLimits& limits,
                       DateBase& dates) {
  return each_node(package, part, "/workbook/workbookPr", limits, [&](pugi::xml_node set) {
    if (is_true(attribute(set, "date1904"))) {
      dates = DateBase::k1904;
    } else if (is_false(attribute(set, "dateCompatibility"))) {
      dates = DateBase::k1900WithoutGap;
    }
    return false;
  });
}

// The workbook's main part.
std::string find_main(const Package& package, const PartLimits& limits, std::string& part) {
  if (!package.has(relations_part("")))
    return std::string(kNoWorkbook) + ": the archive holds something else";
  Relations relations;
  std::string fault = read_relations(package, "", limits, relations);
  if (!fault.empty()) return fault;
  const Relation* main = of_kind(relations, "officeDocument");
  if (main == nullptr) return std::string(kNoWorkbook) + ": the archive holds something else";
  part = main->target;
  if (part.ends_with(".bin")) return "a workbook of the binary form (.xlsb); save it as .xlsx";
  return {};
}

std::string choose(const Package& package, const std::string& main, std::string_view wanted,
                   const PartLimits& limits, Listed& listed) {
  Choice choice(wanted);
  std::string fault = each_node(package, main, "/workbook/sheets/sheet", limits,
                                [&choice](pugi::xml_node sheet) { return !choice.take(sheet); });
  if (!fault.empty()) return fault;
  if (!choice.found()) return choice.missing();
  listed = *choice.found();
  return {};
}

std::string check_sheet(const Relations& relations, const Listed& listed, std::string& part) {
  const auto found = relations.find(listed.relation);
  const std::string which = "the sheet " + kit::in_quotes(listed.name) + " ";
  if (found == relations.end()) return which + "leads nowhere";
  if (found->second.outside || found->second.target.empty())
    return which + "lies outside of the workbook; links are not followed";
  if (found->second.kind != "worksheet")
    return which + "holds no rows: it is a " +
           (found->second.kind.empty() ? "thing of another program" : found->second.kind);
  part = found->second.target;
  return {};
}

}  // namespace

std::string resolved(std::string_view from, std::string_view target) {
  std::vector<std::string_view> way;
  const auto walk = [&way](std::string_view path) {
    while (!path.empty()) {
      const std::string_view step = path.substr(0, path.find('/'));
      path.remove_prefix(std::min(step.size() + 1, path.size()));
      if (step.empty() || step == ".") continue;
      if (step != "..") {
        way.push_back(step);
      } else if (way.empty()) {
        return false;
      } else {
        way.pop_back();
      }
    }
    return true;
  };
  if (!target.starts_with('/')) walk(from.substr(0, from.rfind('/') + 1));
  if (!walk(target)) return {};
  std::string part;
  for (const std::string_view step : way) part += (part.empty() ? "" : "/") + std::string(step);
  return part;
}

std::string find_sheet(const Package& package, std::string_view wanted, const PartLimits& limits,
                       Workbook& found) {
  std::string main;
  if (std::string fault = find_main(package, limits, main); !fault.empty()) return fault;
  Listed listed;
  if (std::string fault = choose(package, main, wanted, limits, listed); !fault.empty())
    return fault;
  Relations relations;
  if (std::string fault = read_relations(package, main, limits, relations); !fault.empty())
    return fault;
  if (std::string fault = check_sheet(relations, listed, found.sheet); !fault.empty()) return fault;
  const Relation* strings = of_kind(relations, "sharedStrings");
  const Relation* styles = of_kind(relations, "styles");
  found.strings = strings == nullptr ? "" : strings->target;
  found.styles = styles == nullptr ? "" : styles->target;
  return read_dates(package, main, limits, found.dates);
}

}  // namespace girdle::sheet
