// Where an intake hands its documents on: the service reads them with the intake's reader and
// mapping, and commits them. One sink serves one intake; one document at a time. All on the
// intake's thread.
//
// Order of calls, for each document exactly one of:
//   begin → feed* → finish → commit      read and queued
//   begin → feed* → [finish →] abandon   given up; it will be offered again
//   move_position                        its content is known: nothing to read
//   set_aside                            not read at all
// A document may begin before the Done of the one before it has come.
//
// Stopping: when the intake is cancelled, a pending feed, finish, commit, move_position or set_aside
// ends by throwing boost::system::system_error(operation_aborted), as every operation of Asio in a
// coroutine does; after a feed, a finish or a commit that ended so, abandon() is called.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "model/position.h"
#include "model/record.h"

namespace girdle::intake {

class Sink {
 public:
  // Called on the intake's thread once the document's commit is durable (true), or has failed and
  // the document must be offered again (false). It may be called before the commit() that it was
  // given to returns. The intake outlives its Dones: who owns both calls or drops all of them
  // before the intake is destroyed. Never called twice.
  using Done = std::function<void(bool committed)>;

  struct Read {
    uint64_t consumed =
        0;  // bytes up to the end of the last complete record; all of them for a whole document
    std::string resume;  // the reader's state there, for the next piece of a growing file
  };

  virtual ~Sink() = default;

  // What the ledger knows of a file of this intake.
  virtual std::optional<model::FilePosition> position(std::string_view name) = 0;
  // Whether a document with this digest was taken in through this intake before.
  virtual bool is_known(const base::Digest& digest) = 0;

  // begin → feed* → finish → commit. `resume` is empty for a document that starts at its beginning.
  virtual void begin(const model::Document& document, std::string_view resume) = 0;
  // Waits while what was read before is queued for the ledger: this is how a slow disk slows the
  // intake.
  virtual boost::asio::awaitable<void> feed(std::string_view bytes) = 0;
  // No more bytes. `whole`: the document is complete, so that a last record without its end counts;
  // else it waits for the next piece. Waits for the reader, where that runs in another process.
  virtual boost::asio::awaitable<Read> finish(bool whole) = 0;
  // Queues the rest of the document's records and its position; `done` comes later. Waits while the
  // queue is full.
  virtual boost::asio::awaitable<void> commit(std::optional<model::FilePosition> position,
                                              Done done) = 0;
  // Instead of commit: the bytes changed under the reader, or reading was interrupted. The document
  // will be offered again; records that were queued already do no harm, the next pass finds them
  // known.
  virtual void abandon() = 0;

  // The file's content is known (is_known), or it is where it was and only its times changed: only
  // its position moves. Without begin. Waits while the queue is full, as commit does.
  virtual boost::asio::awaitable<void> move_position(model::FilePosition position, Done done) = 0;

  // A document that is not read at all (too large, not a file, a broken frame): kept with its
  // reason. The digest of a document whose bytes were not read is that of its name, size and times:
  // no two of them count as the same.
  virtual boost::asio::awaitable<void> set_aside(const model::Document& document,
                                                 model::Aside aside,
                                                 std::optional<model::FilePosition> position,
                                                 Done done) = 0;

  // What is wrong with the reader, for the intake's status; empty when nothing is.
  virtual std::string trouble() const { return {}; }
};

}  // namespace girdle::intake
