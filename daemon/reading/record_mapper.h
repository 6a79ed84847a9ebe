// The rules of a mapping for one kind of record, compiled.
#pragma once

#include <memory>
#include <span>
#include <string_view>

#include "model/mapping.h"
#include "reading/fault.h"
#include "reading/mapper.h"

namespace girdle::reading {

struct RecordRules {
  std::span<const model::FieldRule> fields;
  const model::Mapping& mapping;  // in which they stand
  std::string_view timezone;      // of the site
};

// With the rules that are right; all of them where there are no faults.
std::unique_ptr<Mapper::Impl> compile_record_mapper(model::RecordKind kind,
                                                    const RecordRules& given, bool sparse,
                                                    Faults& faults);

}  // namespace girdle::reading
