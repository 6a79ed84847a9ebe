// One intake's reader and mapping, and the documents that are read with them.
//
// The reader's library is used through the ABI of <girdle/reader.h>, in this process or in one of
// its own. What can be checked of it is checked: a reader that breaks its contract (null texts,
// counts and sizes over the limits, places that were never fed, calls after a stop) costs its
// document, which is set aside. In a process of its own it may crash and hang besides.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"
#include "model/mapping.h"
#include "model/record.h"
#include "reading/carrier.h"
#include "reading/manifest.h"

namespace girdle::reading {

struct Choice {
  std::string reader;
  Options options;
  model::Mapping mapping;
  std::string timezone;  // of the site
  uint64_t max_record_bytes = 1 << 20;
  std::optional<Isolation> isolation = {};  // in a process of its own; else in this one
};

struct LoadedReader;

// A document, or the new part of a growing file, from its first byte on. Whole, or cut anywhere:
// the records are the same. Used by one thread at a time; keeps its reader.
//
// A reader in a process of its own has to be waited for. feed() and finish() block until it has
// answered, or failed, or its time is up. Who must not block begins a call with one of start_…, and
// calls step() until it returns nothing, each time after what it returned has been waited for;
// meanwhile nothing else is called, and `out` and the bytes stay as they are. Dropped in between,
// the reader's process is ended.
class DocumentReading {
 public:
  DocumentReading(DocumentReading&&) noexcept;
  DocumentReading& operator=(DocumentReading&&) noexcept;
  ~DocumentReading();

  // Appends what the bytes complete. A record that the mapping does not cover comes out as an Aside
  // with its bytes (at most max_record_bytes of them). Places count from the first byte fed here.
  void feed(std::string_view bytes, model::Records& out);
  // No more bytes. `whole`: a last record without its end counts, or is set aside; otherwise it
  // waits.
  void finish(bool whole, model::Records& out);

  void start_feed(std::string_view bytes, model::Records& out);
  void start_finish(bool whole, model::Records& out);
  // Both in one call: of an isolated reader that is one exchange, which is quicker.
  void start_all(std::string_view bytes, bool whole, model::Records& out);
  std::optional<Wait> step();

  // Bytes up to the end of the last complete record, and, after finish, the reader's state there.
  uint64_t consumed() const;
  const std::string& resume() const;

  // Why the reader was given up in the middle of the document; empty while it was not. Nothing of
  // the call in which it happened counts, and from there on all bytes are set aside with this
  // reason. Records of earlier calls are the caller's to keep or to drop.
  const std::string& fault() const;
  // While the reader's process cannot be started: why. It is tried again and again; a call that
  // blocks ends with it as its fault.
  std::string trouble() const;

 private:
  friend class Reader;
  struct State;
  void answer_all();
  explicit DocumentReading(std::unique_ptr<State> state);
  static base::Result<DocumentReading> create(std::shared_ptr<LoadedReader> loaded,
                                              std::string_view resume);
  std::unique_ptr<State> state_;
};

class Reader {
 public:
  // Loads the library, in this process or in one of its own, and tries whether the reader begins.
  // Errors: no such reader (with those that there are), a missing library, another ABI, missing
  // functions, wrong options, a mapping that does not compile. Blocks while a process of its own is
  // tried; that has ended when it returns.
  static base::Result<std::shared_ptr<Reader>> open(const Catalogue& catalogue, Choice choice);
  ~Reader();

  // Whether it gives declarations: a list that comes again, byte for byte, says again what it says.
  bool makes_declarations() const;

  // `resume` is what an earlier DocumentReading gave. Documents of one Reader share the mapping's
  // scratch memory: they may take turns, on one thread at a time. An isolated reader has one
  // document at a time, and tells by the document's fault() that it will not begin.
  base::Result<DocumentReading> begin(std::string_view resume = {});

  bool is_isolated() const;
  // Of an isolated reader: starts its process, so that the first document need not wait for it.
  // On the thread that will use it; the process ends with that thread.
  void warm_up();
  ReaderNews take_news();

 private:
  explicit Reader(std::shared_ptr<LoadedReader> loaded);
  base::Result<void> try_to_begin();
  std::shared_ptr<LoadedReader> loaded_;
};

}  // namespace girdle::reading
