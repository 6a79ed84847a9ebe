// A mapping, proposed: our fields, where each comes from, and the evidence beside it. What a result
// word means is always left open.
//
// Pure; any thread.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "draft/columns.h"
#include "draft/field_draft.h"
#include "draft/roles.h"
#include "model/mapping.h"

namespace girdle::draft {

struct MappingDraft {
  model::RecordKind record = model::RecordKind::kReading;
  std::string why_record;
  std::vector<FieldDraft> fields;
  std::vector<std::string> left;     // a line of comment for each column that is not taken
  bool has_local_times = false;      // a zone has to be known
  std::vector<std::string> serials;  // of instruments, as the records write them
};

// `serial_hints`: what the text around the records says of the instrument, as comments.
MappingDraft draft_mapping(const std::vector<RawRecord>& records,
                           std::optional<model::RecordKind> wanted,
                           const std::vector<std::string>& serial_hints = {});

// The names of the columns that it takes.
std::vector<std::string> columns_taken(const MappingDraft& draft);

}  // namespace girdle::draft
