// How the calls of the reader ABI come to a reader, and what it says to girdled: within this
// process, or to a process of its own and back.
//
// Both carriers hand on what the reader says as it says it, to the girdle_reader_host that they
// were given; no check of it is made here, but what each needs to survive.
//
// One thread. A carrier outlives none of the things that it was given.
#pragma once

#include <girdle/reader.h>

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"
#include "reading/isolation.h"

namespace girdle::reading {

// What a call waits for.
struct Wait {
  int descriptor = -1;  // that becomes ready, or the time; -1: only the time
  uint64_t id = 0;      // of the descriptor: their numbers come again
  bool to_write = false;
  SteadyTime until;
};

// One document's reader. The destructor destroys it.
class Carrier {
 public:
  struct Answer {
    girdle_status status = GIRDLE_OK;
    uint64_t consumed = 0;
    girdle_status saved = GIRDLE_FAILED;  // of end()
    girdle_text state{};                  // what it saved; lent until the carrier goes
  };

  virtual ~Carrier() = default;

  // Begins a call. `bytes` are lent until it is answered; no other call before, but for an end()
  // behind a feed(): so a small document costs one exchange.
  virtual void feed(std::string_view bytes) = 0;
  // `whole`: finish. Saves the reader's state; then no more calls.
  virtual void end(bool whole) = 0;

  // Brings the call on and never blocks. Nothing: it is answered, or failed, or the reader refused
  // to begin (host->refuse was called).
  virtual std::optional<Wait> step() = 0;

  // Only when it is answered, and the reader has kept its contract so far.
  virtual const Answer& answer() = 0;
  virtual bool refused() const = 0;
  // Why there is no answer: what became of the reader's process. Empty: there is one.
  virtual std::string failure() = 0;
  // What keeps the call from being sent at all, while it does: the reader's process does not start.
  virtual std::string trouble() const = 0;
  // The reader broke its contract, and will not be used any more.
  virtual void give_up() = 0;
};

// What there is to tell of an isolated reader besides its documents.
struct ReaderNews {
  std::string warning;  // it ended between two documents
  std::string said;     // what it wrote to standard error, cut
  bool empty() const { return warning.empty() && said.empty(); }
};

// Makes the readers of one intake.
class Carriage {
 public:
  virtual ~Carriage() = default;

  // `host` lives until the carrier goes, and what `setup` points to until the call returns. Null
  // after host->refuse.
  virtual std::unique_ptr<Carrier> begin(const girdle_reader_host& host,
                                         const girdle_reader_setup& setup) = 0;

  virtual bool is_isolated() const = 0;
  // Of an isolated reader: tries to start it. Blocks, within its patience.
  virtual base::Result<void> try_start() = 0;
  // Of an isolated reader: so that the first document need not wait. Does not block.
  virtual void warm_up() = 0;
  // Ends its process, if there is one.
  virtual void shut_down() = 0;
  // What came since the last time.
  virtual ReaderNews take_news() = 0;
};

}  // namespace girdle::reading
