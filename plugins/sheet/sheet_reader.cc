#include "sheet/sheet_reader.h"

#include <algorithm>
#include <utility>

#include "kit/descriptor.h"
#include "kit/saved_state.h"
#include "kit/setup.h"
#include "sheet/cell_place.h"
#include "sheet/whole_number.h"
#include "xml/xml_stream.h"

namespace girdle::sheet {

namespace {

constexpr uint64_t kStateVersion = 1;
constexpr uint64_t kMostBytes = uint64_t{1} << 40;
constexpr uint64_t kMostRatio = 1'000'000;

// An integer option; false, and the reason, where it is none from `least` to `most`.
bool read_integer(const girdle_reader_setup& setup, std::string_view name, uint64_t least,
                  uint64_t most, uint64_t& value, std::string& refusal) {
  const std::string_view text = kit::option(setup, name);
  if (text.empty()) return true;
  const std::optional<uint64_t> number = whole_number(text);
  value = number.value_or(value);
  if (number && value >= least && value <= most) return true;
  refusal = std::string(name) + ": must be a whole number from " + std::to_string(least) + " to " +
            std::to_string(most);
  return false;
}

}  // namespace

std::optional<SheetOptions> SheetReader::options(const girdle_reader_setup& setup,
                                                 std::string& refusal) {
  SheetOptions options;
  if (const std::string_view sheet = kit::option(setup, "sheet"); !sheet.empty())
    options.sheet = sheet;
  const std::string_view numbers = kit::option(setup, "numbers");
  if (numbers == "shortest") options.numbers = NumberForm::kShortest;
  if (!numbers.empty() && numbers != "written" && numbers != "shortest") {
    refusal = "numbers: must be written or shortest";
    return std::nullopt;
  }
  PackageLimits& package = options.package;
  const bool good =
      read_integer(setup, "header", 0, kMostRows, options.header, refusal) &&
      read_integer(setup, "max_bytes", 1, kMostBytes, options.max_bytes, refusal) &&
      read_integer(setup, "max_entries", 1, kMostBytes, package.max_entries, refusal) &&
      read_integer(setup, "max_inflated", 1, kMostBytes, package.max_inflated, refusal) &&
      read_integer(setup, "max_ratio", 1, kMostRatio, package.max_ratio, refusal);
  if (!good) return std::nullopt;
  return options;
}

std::unique_ptr<SheetReader> SheetReader::create(const girdle_reader_host& host,
                                                 const girdle_reader_setup& setup,
                                                 std::string& refusal) {
  return kit::Maker::make<SheetReader>(host, setup, refusal, &SheetReader::options);
}

SheetReader::SheetReader(const girdle_reader_host& host, const girdle_reader_setup& setup,
                         SheetOptions options)
    : out_(host, std::min(setup.max_record_bytes, kit::kMostRecordBytes)),
      options_(std::move(options)),
      max_fields_(setup.max_fields),
      limit_(std::min(options_.max_bytes, xml::kHeldRecords * out_.limit())) {}

girdle_status SheetReader::feed(std::string_view bytes) {
  fed_ += bytes.size();
  if (!long_ && bytes.size() > limit_ - kept_.size()) {
    long_ = true;
    kept_ = {};
  }
  if (!long_) kept_ += bytes;
  set_aside_while_it_comes(false);
  return out_.status();
}

girdle_status SheetReader::finish() {
  if (long_) {
    set_aside_while_it_comes(true);
  } else if (kept_.empty()) {
    out_.aside(0, 0, 0, "an empty document");
  } else {
    SheetDocument(kept_, options_, max_fields_, out_).read();
  }
  begin_ = fed_;
  return out_.status();
}

void SheetReader::set_aside_while_it_comes(bool whole) {
  while (long_ && !out_.stopped() && begin_ < fed_) {
    const uint64_t length = std::min(fed_ - begin_, out_.limit());
    if (!whole && length < out_.limit()) return;
    out_.aside(begin_, length, 0, too_long());
    begin_ += length;
  }
}

std::string SheetReader::too_long() const {
  const std::string longer = "the workbook is longer than " + std::to_string(limit_) + " bytes";
  if (limit_ == options_.max_bytes) return longer + " (max_bytes)";
  return longer + ", eight times the intake's max_record; raise it";
}

std::string_view SheetReader::save() {
  if (!long_) return {};
  kit::StateWriter(state_, kStateVersion, limit_);
  return state_;
}

// Only a document that is too long has anything to go on with.
bool SheetReader::resume(std::string_view bytes) {
  long_ = true;
  return kit::StateParser(bytes, kStateVersion, limit_).done();
}

const girdle_reader_descriptor& descriptor() {
  static constexpr girdle_reader_descriptor kDescriptor =
      kit::describe<SheetReader>("sheet", "0.1.0");
  return kDescriptor;
}

}  // namespace girdle::sheet
