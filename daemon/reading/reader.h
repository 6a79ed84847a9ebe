// One intake's reader and mapping, and documents being read with them.
//
// The reader's library is loaded through the ABI of <girdle/reader.h>; a library that misbehaves in a way that can be
// checked (null names, counts over the limits, calls after a stop) costs its document, which is set aside.
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

class Reader;

// A document, or the new part of a growing file, from its first byte on. Whole, or cut anywhere: the records are the
// same. Used by one thread at a time; keeps its Reader alive.
class DocumentReading {
 public:
  DocumentReading(DocumentReading&&) noexcept;
  DocumentReading& operator=(DocumentReading&&) noexcept;
  ~DocumentReading();

  // Appends what the bytes complete. A record that the mapping does not cover comes out as an Aside with its bytes.
  void feed(std::string_view bytes, model::Records& out);
  // No more bytes. `whole`: a last record without its end counts, or is set aside; otherwise it waits.
  void finish(bool whole, model::Records& out);
  // Bytes up to the end of the last complete record, and the reader's state there.
  uint64_t consumed() const;
  std::string resume();

 private:
  friend class Reader;
  struct State;
  explicit DocumentReading(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

class Reader : public std::enable_shared_from_this<Reader> {
 public:
  // Loads the library. Errors: no such reader (with those that there are), a missing library, another ABI, missing
  // functions, wrong options, a mapping that does not compile.
  static base::Result<std::shared_ptr<Reader>> open(const Catalogue& catalogue, Choice choice);
  ~Reader();

  // One document at a time: they share the mapping's scratch memory. `resume` is what a DocumentReading gave.
  base::Result<DocumentReading> begin(std::string_view resume = {});

 private:
  friend class DocumentReading;
  struct Loaded;
  Reader();
  std::unique_ptr<Loaded> loaded_;
};

}  // namespace girdle::reading
