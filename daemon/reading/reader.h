// One intake's reader and mapping, and the documents that are read with them.
//
// The reader's library is loaded through the ABI of <girdle/reader.h>. What can be checked of it is
// checked: a reader that breaks its contract (null texts, counts and sizes over the limits, places
// that were never fed, calls after a stop) costs its document, which is set aside.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.h"
#include "model/mapping.h"
#include "model/record.h"
#include "reading/manifest.h"

namespace girdle::reading {

struct Choice {
  std::string reader;
  Options options;
  model::Mapping mapping;
  std::string timezone;  // of the site
  uint64_t max_record_bytes = 1 << 20;
};

struct LoadedReader;

// A document, or the new part of a growing file, from its first byte on. Whole, or cut anywhere:
// the records are the same. Used by one thread at a time; keeps its reader's library loaded.
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

  // Bytes up to the end of the last complete record, and the reader's state there.
  uint64_t consumed() const;
  std::string resume();

  // Why the reader was given up in the middle of the document; empty while it was not. Nothing of
  // the feed in which it happened counts, and from there on all bytes are set aside with this
  // reason. Records of earlier feeds are the caller's to keep or to drop.
  const std::string& fault() const;

 private:
  friend class Reader;
  struct State;
  explicit DocumentReading(std::unique_ptr<State> state);
  static base::Result<DocumentReading> create(std::shared_ptr<LoadedReader> loaded,
                                              std::string_view resume);
  std::unique_ptr<State> state_;
};

class Reader {
 public:
  // Loads the library. Errors: no such reader (with those that there are), a missing library,
  // another ABI, missing functions, wrong options, a mapping that does not compile.
  static base::Result<std::shared_ptr<Reader>> open(const Catalogue& catalogue, Choice choice);
  ~Reader();

  // Whether it gives declarations: a list that comes again, byte for byte, says again what it says.
  bool makes_declarations() const;

  // `resume` is what an earlier DocumentReading gave. Documents of one Reader share the mapping's
  // scratch memory: they may take turns, on one thread at a time.
  base::Result<DocumentReading> begin(std::string_view resume = {});

 private:
  explicit Reader(std::shared_ptr<LoadedReader> loaded);
  std::shared_ptr<LoadedReader> loaded_;
};

}  // namespace girdle::reading
