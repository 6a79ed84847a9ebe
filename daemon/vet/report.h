// What vetting a reader found, check by check, and the verdict. schemas/vet.schema.json has the
// JSON.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::vet {

struct Fault {
  std::string rule;   // one word for the kind of fault, "record.order"; for programs
  std::string where;  // "001-a.csv, cut at 17"
  std::string what;
  std::string right;   // what would be right
  uint64_t times = 1;  // this rule was broken in this check
  std::string input;   // the file where the bytes that show it were kept; empty: in no file
};

// A count, over all samples; or an amount with its unit, of the sample that takes most.
struct Measure {
  std::string name;  // "records"
  int64_t value = 0;
  std::string unit;  // "bytes"; empty for a count
};

struct Check {
  enum class Result { kOk, kFault, kLeftOut };

  std::string name;     // "cuts"
  std::string promise;  // what holds when it is ok
  Result result = Result::kOk;
  std::string why_left_out;
  uint64_t tried = 0;                       // documents read, calls made: what the check counts
  uint64_t samples = 0, samples_tried = 0;  // meant for it, and those that there was time for
  int64_t milliseconds = 0;
  std::vector<Fault> faults;
  std::vector<std::string> notes;  // worth knowing, and no fault
  std::vector<Measure> measures;

  int64_t measured(std::string_view measure) const;
};

std::string_view text(Check::Result result);  // ok, fault, left_out

struct Report {
  std::filesystem::path manifest, library;
  std::string name, version, program;  // the reader's; girdled's version
  uint64_t samples = 0, sample_bytes = 0;
  std::vector<Check> checks;

  uint64_t faults() const;
  // Checks that had no time for some of their samples.
  uint64_t cut_short() const;
  // kApproved: nothing is wrong, and every check was made.
  enum class Verdict { kApproved, kRefused, kIncomplete };
  Verdict verdict() const;
};

std::string_view text(Report::Verdict verdict);  // approved, refused, incomplete

void write_json(std::string& out, const Report& report);

}  // namespace girdle::vet
