// A reader with options that may read the samples. Each reader that draft knows has one file that
// makes them; to know another reader, add such a file and its line in proposals.cc.
//
// All of it pure; any thread.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "draft/open_point.h"
#include "draft/sample.h"
#include "draft/text_form.h"

namespace girdle::draft {

struct Proposal {
  std::string reader;
  // Between proposals: 1 where the format says itself what it is, less where it is only regular.
  double likeliness = 0;
  std::vector<Setting> options;
  std::vector<std::string> evidence;      // lines of comment
  std::vector<std::string> serial_hints;  // what the text around the records says of the instrument
};

// The samples, and what is the same for all readers.
struct Look {
  Samples samples;
  TextLook text;
  std::vector<std::string> texts;  // of the samples: plain_text()
  bool are_frames = false;         // messages of a line: each is a document of its own
  // Options of the reader that a person has said already.
  std::vector<std::pair<std::string, std::string>> said;

  // Nothing where it was not said.
  std::optional<std::string> said_option(std::string_view name) const;
};

Look look_at(Samples samples, bool are_frames,
             std::vector<std::pair<std::string, std::string>> said);

std::vector<Proposal> propose_astm(const Look& look);
std::vector<Proposal> propose_columns(const Look& look);
std::vector<Proposal> propose_delimited(const Look& look);
std::vector<Proposal> propose_json(const Look& look);
std::vector<Proposal> propose_labelled(const Look& look);
std::vector<Proposal> propose_sheet(const Look& look);
std::vector<Proposal> propose_xml(const Look& look);

// The likeliest first. `reader`: of this one alone; empty: of all. A format that says itself what
// it is leaves no room for text that is only regular.
std::vector<Proposal> proposals_for(const Look& look, std::string_view reader = {});

// "Serial no.: A-0117" in a letterhead, as a comment; empty where the line says no such thing.
std::string serial_hint(std::string_view line, size_t number);

}  // namespace girdle::draft
