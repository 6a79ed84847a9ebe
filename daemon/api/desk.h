// What the API asks of the service: who is there, how they stand, what is in the ledger, and what a person wants done.
// The service implements it; tests have one of their own.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "delivery/outlet_meters.h"
#include "ledger/ledger.h"
#include "model/outcome.h"
#include "model/words.h"

namespace girdle::api {

struct IntakeView {
  std::string name;
  std::string kind;    // "folder", "serial", "tcp", "post"
  std::string reader;
  std::vector<std::string> makes;  // "reading", "declaration", "scan", …
};
struct InstrumentView {
  std::string serial, bench;  // bench may be empty
};
struct OutletView {
  std::string name;
  std::string kind;  // "webhook", "folder"
};
struct PolicyView {
  std::string name, version, digest;
  std::optional<base::Instant> valid_from;
  std::string approved_by, why;  // may be empty
  std::string text;              // the rules in force, as the ledger keeps them (JSON)
};

// What is configured. Replaced as a whole when the configuration is read anew.
struct House {
  std::string site, timezone, language, version;  // version: of girdled
  std::string ledger;  // its name (Ledger::name()): what the ids of its cases begin with
  std::vector<IntakeView> intakes;
  std::vector<InstrumentView> instruments;
  std::vector<OutletView> outlets;
  PolicyView policy;
};

// How things stand at this moment.
struct IntakeState {
  std::string name;
  bool up = false;
  std::string trouble;  // empty = none
  uint64_t documents = 0, bytes = 0, known = 0, set_aside = 0, abandoned = 0, failed = 0, in_flight = 0;
  std::optional<base::Instant> last_at;
  base::Instant since{};  // the intake was made, and has counted from then
};
struct OutletState {
  std::string name;
  uint64_t in_flight = 0;   // attempts under way
  uint64_t in_memory = 0;   // deliveries in its dispatcher's memory
  bool closed = false, paused = false;
  bool resting = false;  // after repeated failure, until its next probe
  uint64_t attempts = 0, sent = 0, failed = 0, parked = 0;  // as delivery::Dispatcher::Counts has them
  base::Instant since{};  // the dispatcher was made, and has counted from then, the histograms too
  std::shared_ptr<const delivery::OutletMeters> meters{};  // null: not known
};
struct WriterState {
  size_t queued = 0;    // records
  bool refused = false;  // the disk refuses the last commit; it is tried again
};
struct Standing {
  std::vector<IntakeState> intakes;
  std::vector<OutletState> outlets;
  WriterState writer;
};

// A ledger for reading with what is needed to tell of it. On one thread.
class Teller {
 public:
  virtual ~Teller() = default;
  virtual ledger::Ledger& ledger() = 0;
  // The last outcome of a case with its reasons in words, or that of a sequence.
  virtual base::Result<model::Outcome> outcome(ledger::Number case_number, int64_t sequence) = 0;
  // All of one case as one JSON object, as `girdled case --json` writes it. Nothing: there is no such case.
  virtual base::Result<std::optional<std::string>> story(ledger::Number case_number) = 0;
  // Of a subject that has declarations and no case: the same, without outcome. Nothing: nobody knows it.
  virtual base::Result<std::optional<std::string>> story_of(const std::string& key) = 0;
};

// Who does something, and why. Both are what the person says of themselves; `token` is the name of what let them in.
struct By {
  std::string who;  // 1 to 100 bytes
  std::string why;  // 1 to 500 bytes
  std::string token;
};

// A reading without a stock number gets one.
struct Bind {
  ledger::Number reading = 0;
  std::string stock_number, position;
  By by;
};
// A new outcome of a case that a person decides.
struct DecideByHand {
  ledger::Number case_number = 0;
  int64_t sequence = 0;  // of the outcome that the person saw; refused where there is a later one
  model::Disposition disposition = model::Disposition::kHold;
  By by;
};
// Documents of which something was set aside are read again.
struct TryAgain {
  std::vector<ledger::Number> asides;  // at most 1,000
};
struct Resend {
  ledger::Selection selection;
};
struct Pause {
  std::string outlet;
  By by;
};
// Opens a closed outlet too.
struct Resume {
  std::string outlet;
};
// A document for an intake that takes posts.
struct Take {
  std::string intake;
  std::string name;  // for a person; may be empty
  std::string bytes;
};
// How an intake would read a document; nothing is kept.
struct Preview {
  std::string intake;
  std::string bytes;
};
using Deed = std::variant<Bind, DecideByHand, TryAgain, Resend, Pause, Resume, Take, Preview>;

struct DeedAnswer {
  enum class Kind : uint8_t {
    kDone,      // durable; `json` tells
    kNotFound,  // no such reading, case, intake, outlet
    kConflict,  // the state does not allow it: `text` says what would
    kRefused,   // what was asked is wrong
    kBusy,      // the service has no room now; later
    kFailed,    // whether it is durable is not known: disk, stop
  };
  Kind kind = Kind::kDone;
  std::string text;   // why not
  std::string json;   // of kDone: an object
  bool made = false;  // of kDone: something new is there
};

// Thread-safe.
class Desk {
 public:
  virtual ~Desk() = default;
  virtual std::shared_ptr<const House> house() const = 0;
  // One for each reading thread.
  virtual base::Result<std::unique_ptr<Teller>> teller() = 0;
  // Called back once, on some thread; not after the desk is gone.
  virtual void standing(std::function<void(Standing)> done) = 0;
  using Done = std::function<void(DeedAnswer)>;
  virtual void act(Deed deed, Done done) = 0;
};

}  // namespace girdle::api
