#include "reading/mapper.h"

#include <span>

#include "reading/record_mapper.h"
#include "reading/section_mapper.h"

namespace girdle::reading {
namespace {

// Each may take Pattern::kMaxMemory.
constexpr size_t kMostPatterns = 64;

base::Error error_of(const model::Mapping& mapping, const Fault& fault) {
  std::string text = mapping.file;
  if (fault.mark.line != 0) {
    text += ':' + std::to_string(fault.mark.line) + ':' + std::to_string(fault.mark.column);
  }
  return base::input_error(text + ": " + fault.text);
}

// False, and the fault at the first pattern too many.
bool patterns_are_few(const model::Mapping& mapping, Faults& faults) {
  size_t patterns = 0;
  const auto count = [&](std::span<const model::FieldRule> rules) {
    for (const model::FieldRule& rule : rules) {
      if (rule.match.empty() || ++patterns != kMostPatterns + 1) continue;
      faults.push_back({rule.match_mark, "match: a mapping has at most " +
                                             std::to_string(kMostPatterns) + " patterns"});
    }
  };
  count(mapping.fields);
  for (const model::RecordSection& section : mapping.sections) count(section.fields);
  return patterns <= kMostPatterns;
}

std::unique_ptr<Mapper::Impl> compile_all(const model::Mapping& mapping, std::string_view timezone,
                                          bool sparse, Faults& faults) {
  if (!patterns_are_few(mapping, faults)) return nullptr;
  if (!mapping.sections.empty()) return compile_section_mapper(mapping, timezone, sparse, faults);
  return compile_record_mapper(mapping.record, {mapping.fields, mapping, timezone}, sparse, faults);
}

}  // namespace

base::Result<Mapper> Mapper::compile(const model::Mapping& mapping, std::string_view timezone,
                                     bool sparse) {
  Faults faults;
  auto impl = compile_all(mapping, timezone, sparse, faults);
  if (!faults.empty()) return error_of(mapping, faults.front());
  return Mapper(std::move(impl));
}

Faults Mapper::faults(const model::Mapping& mapping, std::string_view timezone) {
  Faults faults;
  compile_all(mapping, timezone, false, faults);
  return faults;
}

}  // namespace girdle::reading
