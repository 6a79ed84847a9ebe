// The reader `slips`: lines of name=value. README.md says what it takes and what it sets aside.
//
// Two things are kept between feeds, and no more: the bytes of a line whose end has not come, at
// most max_record_bytes of them, and where the reader is (Place).
#include <algorithm>
#include <girdle/reader.hpp>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace slips {
namespace {

namespace kit = girdle::kit;

constexpr uint64_t kStateVersion = 1;
constexpr std::string_view kTooLong = "the line is longer than is read";
constexpr std::string_view kNoField = "a part of the line is not name=value";

// The option `separator`; nothing where it will not do.
std::optional<char> separator_of(const girdle_reader_setup& setup) {
  const std::string_view value = kit::option(setup, "separator");
  if (value.empty()) return ';';
  if (value == "tab" || value == "\\t") return '\t';
  const bool one = value.size() == 1 && (value[0] == '\t' || (value[0] >= ' ' && value[0] <= '~'));
  if (!one || value == "=" || value == "#") return std::nullopt;
  return value[0];
}

class SlipsReader {
 public:
  static std::unique_ptr<SlipsReader> create(const girdle_reader_host& host,
                                             const girdle_reader_setup& setup,
                                             std::string& refusal) {
    refusal = kit::wrong_limits(setup);
    if (!refusal.empty()) return nullptr;
    const std::optional<char> separator = separator_of(setup);
    if (!separator) {
      refusal = "option separator must be a tab or printable ASCII, and not = or #";
      return nullptr;
    }
    auto reader = std::make_unique<SlipsReader>(host, setup, *separator);
    if (setup.resume.size > 0 && !reader->resume(kit::view(setup.resume))) {
      refusal = "the saved state is not of this reader with this separator; read the document anew";
      return nullptr;
    }
    return reader;
  }

  SlipsReader(const girdle_reader_host& host, const girdle_reader_setup& setup, char separator)
      : out_(host, std::min(setup.max_record_bytes, kit::kMostRecordBytes)),
        max_fields_(setup.max_fields),
        separator_(separator) {}

  girdle_status feed(std::string_view bytes) {
    const uint64_t end = fed_ + bytes.size();
    while (!bytes.empty() && !out_.stopped()) {
      if (place_ == Place::kBetween) {
        if (std::exchange(after_cr_, false) && bytes[0] == '\n') {
          bytes.remove_prefix(1);
          begin_ = end - bytes.size();
          continue;
        }
        place_ = bytes[0] == '#' ? Place::kComment : Place::kLine;
      }
      const size_t size = std::min(bytes.find_first_of("\r\n"), bytes.size());
      const bool ends = size < bytes.size();
      take_part(bytes.substr(0, size), ends);
      bytes.remove_prefix(size);
      if (ends) {
        after_cr_ = bytes[0] == '\r';
        bytes.remove_prefix(1);
        line_ended(end - bytes.size());
        ++line_;
      }
      if (place_ == Place::kComment) begin_ = end - bytes.size();
    }
    fed_ = end;
    return out_.status();
  }

  girdle_status finish() {
    if (place_ == Place::kLine) emit(kept_);
    line_ended(fed_);
    return out_.status();
  }

  uint64_t consumed() const { return begin_; }

  // `consumed` is where the line at hand begins, so that is the place to describe.
  std::string_view save() {
    const Place place = place_ == Place::kLine ? Place::kBetween : place_;
    kit::StateWriter(state_, kStateVersion, fingerprint())
        .number(static_cast<uint64_t>(place))
        .number(after_cr_)
        .number(line_);
    return state_;
  }

 private:
  // Where the next byte is. The numbers are in saved states.
  enum class Place {
    kBetween,   // at the beginning of a line
    kLine,      // in a line that is kept
    kComment,   // in a line that holds nothing
    kLongLine,  // in a line that is too long to keep: what came of it is set aside in pieces
  };

  uint64_t fingerprint() const { return kit::Fingerprint().add({&separator_, 1}).value(); }

  bool resume(std::string_view bytes) {
    kit::StateParser state(bytes, kStateVersion, fingerprint());
    place_ = static_cast<Place>(state.number(static_cast<uint64_t>(Place::kLongLine)));
    after_cr_ = state.flag();
    line_ = state.number();
    return state.done() && place_ != Place::kLine;
  }

  // The next bytes of the line at hand; `ends`: and its last.
  void take_part(std::string_view part, bool ends) {
    if (place_ == Place::kComment) return;
    for (uint64_t room; !out_.stopped() && part.size() > (room = out_.limit() - at_hand());) {
      place_ = Place::kLongLine;
      out_.aside(begin_, out_.limit(), line_, kTooLong);
      begin_ += out_.limit();
      part.remove_prefix(room);
      kept_.clear();
      piece_ = 0;
    }
    if (place_ == Place::kLongLine) {
      piece_ += part.size();
    } else if (!ends) {
      kept_.append(part);
    } else if (kept_.empty()) {
      emit(part);  // lent as it was fed: nothing is copied
    } else {
      emit(kept_.append(part));
    }
  }

  // Of the line or its piece, so far.
  uint64_t at_hand() const { return place_ == Place::kLongLine ? piece_ : kept_.size(); }

  // All before `offset` is done with.
  void line_ended(uint64_t offset) {
    if (place_ == Place::kLongLine && piece_ > 0) out_.aside(begin_, piece_, line_, kTooLong);
    begin_ = offset;
    piece_ = 0;
    kept_.clear();
    place_ = Place::kBetween;
  }

  void emit(std::string_view line) {
    if (line.empty()) return;
    if (const std::string_view fault = take_fields(line); !fault.empty()) {
      out_.aside(begin_, line.size(), line_, fault);
      return;
    }
    out_.emit({.size = sizeof(girdle_record),
               .layout = 0,
               .offset = begin_,
               .length = line.size(),
               .line = line_,
               .count = names_.size(),
               .names = names_.data(),
               .values = values_.data()});
  }

  // Why the line is no record; empty where it is one.
  std::string_view take_fields(std::string_view line) {
    names_.clear();
    values_.clear();
    if (!kit::is_utf8(line)) return "the line is not UTF-8";
    for (;;) {
      const size_t end = line.find(separator_);
      if (const std::string_view fault = take_field(line.substr(0, end)); !fault.empty())
        return fault;
      if (end == std::string_view::npos) return {};
      line.remove_prefix(end + 1);
    }
  }

  std::string_view take_field(std::string_view part) {
    const size_t equals = part.find('=');
    if (equals == 0 || equals == std::string_view::npos) return kNoField;
    if (names_.size() == max_fields_) return "the line has more fields than are read";
    const std::string_view name = part.substr(0, equals);
    const bool twice = std::any_of(names_.begin(), names_.end(),
                                   [&](girdle_text known) { return kit::view(known) == name; });
    if (twice) return "the line has a name twice; which value counts?";
    names_.push_back(kit::lend(name));
    values_.push_back(kit::lend(part.substr(equals + 1)));
    return {};
  }

  kit::Output out_;
  const uint64_t max_fields_;
  const char separator_;

  Place place_ = Place::kBetween;
  bool after_cr_ = false;  // kBetween: an LF now belongs to the line end before it
  uint64_t line_ = 1;      // the number of the line at hand
  uint64_t begin_ = 0;  // all before it is done with: where the line at hand begins, or its piece
  uint64_t fed_ = 0;
  uint64_t piece_ = 0;                       // kLongLine: bytes from begin_ on
  std::string kept_;                         // kLine: what earlier feeds had of the line
  std::vector<girdle_text> names_, values_;  // of the line at hand
  std::string state_;
};

}  // namespace
}  // namespace slips

GIRDLE_READER_LIBRARY(girdle::kit::describe<slips::SlipsReader>("slips", "0.1.0"));
