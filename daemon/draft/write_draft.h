// The two files of a draft.
//
// Pure; any thread. What comes out is valid YAML whatever the samples hold.
#pragma once

#include <string>
#include <vector>

#include "draft/mapping_draft.h"
#include "draft/proposal.h"
#include "draft/source.h"

namespace girdle::draft {

// `headline`: from what it was drafted.
std::string write_mapping(const MappingDraft& draft, const std::string& headline);

struct ConfigurationParts {
  std::string name;  // of the intake
  Source source;
  Proposal proposal;
  std::string reader_folder = {};  // of a reader that does not ship with girdled
  bool needs_zone = false;
  bool has_instrument = false;        // readings come from one
  std::vector<std::string> serials;   // known ones
  std::vector<std::string> problems;  // what the reader set aside
};
std::string write_configuration(const ConfigurationParts& parts, const std::string& headline);

// How often FILL_IN stands as a value.
size_t open_points_in(std::string_view yaml);

}  // namespace girdle::draft
