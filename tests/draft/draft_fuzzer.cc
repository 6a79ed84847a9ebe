// Whatever the bytes are, a draft of them is valid YAML, in which nothing is wrong but what waits
// for a person: the first byte says which part of the recognition meets the others.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <iostream>
#include <string>
#include <string_view>

#include "base/text.h"
#include "config/load.h"
#include "draft/line_messages.h"
#include "draft/mapping_draft.h"
#include "draft/proposal.h"
#include "draft/write_draft.h"

namespace {

using namespace girdle;

[[noreturn]] void fail(std::string_view what, const std::string& text) {
  std::cerr << what << "\n" << text << "\n";
  std::abort();
}

// Fields set apart by tabs, records by line ends, the first names the columns; as UTF-8, which is
// what readers give.
std::vector<draft::RawRecord> records_of(std::string_view bytes) {
  std::vector<draft::RawRecord> records;
  std::vector<std::string> names;
  while (!bytes.empty()) {
    std::string_view line = bytes.substr(0, bytes.find('\n'));
    bytes.remove_prefix(std::min(bytes.size(), line.size() + 1));
    std::vector<std::string> cells;
    for (bool more = true; more;) {
      const std::string_view cell = line.substr(0, line.find('\t'));
      more = cell.size() < line.size();
      cells.push_back(base::is_utf8(cell) ? std::string(cell) : base::excerpt(cell));
      line.remove_prefix(std::min(line.size(), cell.size() + 1));
    }
    if (names.empty()) {
      names = cells;
      continue;
    }
    draft::RawRecord& record = records.emplace_back();
    for (size_t i = 0; i < std::min(cells.size(), names.size()); ++i) {
      bool again = false;
      for (size_t j = 0; j < i; ++j) again = again || names[j] == names[i];
      if (!again) record.fields.emplace_back(names[i], cells[i]);
    }
  }
  return records;
}

void check_files(const std::string& config, const std::string& mapping) {
  config::MemoryFiles files;
  files.file("/house/girdled.yaml", config).file("/house/a.mapping.yaml", mapping);
  const config::Loaded loaded = config::load("/house/girdled.yaml", files);
  for (const config::Problem& problem : loaded.problems) {
    if (problem.text.find("still to be filled in") == std::string::npos) {
      fail(config::format(problem), config + "---\n" + mapping);
    }
  }
}

void write_all(const draft::MappingDraft& mapping, draft::Proposal proposal, draft::Source source) {
  draft::ConfigurationParts parts;
  parts.name = "a";
  parts.source = std::move(source);
  parts.proposal = std::move(proposal);
  parts.needs_zone = mapping.has_local_times;
  parts.has_instrument = true;
  check_files(draft::write_configuration(parts, "Drafted."),
              draft::write_mapping(mapping, "Drafted."));
}

draft::Source line_with(std::vector<draft::Setting> frame) {
  draft::Source source;
  source.kind = draft::Source::Kind::kSerial;
  source.settings = {draft::settled("device", "/dev/ttyS0"), draft::settled("baud", "9600")};
  source.frame = std::move(frame);
  return source;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  if (size == 0) return 0;
  const std::string bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  const draft::MappingDraft none = draft::draft_mapping({}, std::nullopt);
  switch (data[0] % 3) {
    case 0: {
      const draft::Look look = draft::look_at({{"a", bytes}}, false, {});
      for (draft::Proposal& proposal : draft::proposals_for(look)) {
        // Options are the reader's to judge, and not all of them are UTF-8 while the encoding is
        // not known; names of columns are.
        for (const draft::Setting& option : proposal.options) {
          if (!base::is_utf8(option.value)) return 0;
        }
        write_all(none, std::move(proposal), line_with({}));
      }
      break;
    }
    case 1: {
      draft::LineMessages line = draft::messages_of(bytes);
      draft::Proposal proposal;
      proposal.reader = "delimited";
      write_all(none, std::move(proposal), line_with(std::move(line.frame)));
      break;
    }
    default: {
      draft::Proposal proposal;
      proposal.reader = "delimited";
      write_all(draft::draft_mapping(records_of(bytes), std::nullopt), std::move(proposal),
                line_with({}));
    }
  }
  return 0;
}
