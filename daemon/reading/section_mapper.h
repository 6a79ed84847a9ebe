// Several kinds of records in one document: each raw record goes to the first section that takes
// it.
#pragma once

#include <memory>
#include <string_view>

#include "model/mapping.h"
#include "reading/fault.h"
#include "reading/mapper.h"

namespace girdle::reading {

std::unique_ptr<Mapper::Impl> compile_section_mapper(const model::Mapping& mapping,
                                                     std::string_view timezone, bool sparse,
                                                     Faults& faults);

}  // namespace girdle::reading
