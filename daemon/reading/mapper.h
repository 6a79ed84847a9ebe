// Applies a mapping: raw records (field name, text) to readings, declarations and scans. Nothing is
// guessed: what the mapping does not cover is refused with a reason, and the caller sets the record
// aside.
//
// Texts lose outer white space (space, tab, CR, LF) and nothing else. Numbers are exact decimals
// with the marks that the mapping names. Stock numbers are text: leading zeros, "12E4", case and
// inner marks stay; where the mapping has no position of its own, "R1042#2" is position 2 of R1042.
//
// Where the mapping has sections, each record goes to the first that takes it. One that fits none
// is refused; one that the mapping says is no result is counted (model::Ignored).
#pragma once

#include <girdle/reader.h>

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "model/mapping.h"
#include "model/record.h"
#include "reading/fault.h"

namespace girdle::reading {

class Mapper {
 public:
  enum class Applied {
    kMade,     // one record was appended
    kIgnored,  // the mapping says that it is no result; it was counted
    kRefused,  // the mapping does not cover it: see the reason
    kBreach,   // the reader broke its promise about layouts: see the reason
  };

  // The mapping compiled, for one kind of record or for sections.
  class Impl {
   public:
    virtual ~Impl() = default;
    virtual Applied apply(const girdle_record& record, uint64_t document, model::Records& out,
                          std::string& reason) = 0;
  };

  // All that compile() would refuse.
  static Faults faults(const model::Mapping& mapping, std::string_view timezone);

  // `timezone` is the site's; `sparse`: see Manifest. The error is the first of the faults, with
  // the mapping's file, line and column.
  static base::Result<Mapper> compile(const model::Mapping& mapping, std::string_view timezone,
                                      bool sparse);

  // Texts of the record are read, not kept. `document` is another number for each reader: layout
  // numbers are a reader's own (see girdle_record). From one thread at a time.
  Applied apply(const girdle_record& record, uint64_t document, model::Records& out,
                std::string& reason) {
    return impl_->apply(record, document, out, reason);
  }

 private:
  explicit Mapper(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
  std::unique_ptr<Impl> impl_;
};

}  // namespace girdle::reading
