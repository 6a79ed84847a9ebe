// From samples to a configuration that waits to be filled in: girdled.yaml with one intake, and the
// mapping that it names. Every guess is written beside its evidence; what only a person can know
// stands as FILL_IN, which the check refuses.
//
// Loads readers; blocks while they read. One thread.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "draft/choice.h"
#include "draft/mapping_draft.h"
#include "draft/sample.h"
#include "draft/source.h"
#include "model/mapping.h"
#include "reading/isolation.h"
#include "reading/manifest.h"

namespace girdle::draft {

// What the person said already.
struct Answers {
  std::string name;  // of the intake; empty: by the first sample
  std::optional<model::RecordKind> record;
  std::string reader;        // only this one; empty: any
  reading::Options options;  // of the reader
  // Of a reader that does not ship with girdled: where it lies, and how it is run.
  std::filesystem::path reader_folder = {};
  std::optional<reading::Isolation> isolation = {};
};

struct Draft {
  std::string name;           // of the intake
  std::string configuration;  // girdled.yaml
  std::string mapping;        // NAME.mapping.yaml
  size_t open_points = 0;     // FILL_IN in both
  size_t records = 0;
  bool is_clean = false;             // the reader set nothing aside
  std::vector<std::string> remarks;  // for the person who called: what was found, what was not
  Samples frames;                    // of a line: the messages, as preview takes them
};

// `source`: of a line; without it the samples are files of a folder, or what their bytes say.
base::Result<Draft> make_draft(const reading::Catalogue& catalogue, Samples samples,
                               const Answers& answers, std::optional<Source> source = {});

}  // namespace girdle::draft
