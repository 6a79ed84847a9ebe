// What tells duplicates: a record's canonical content as one number.
#pragma once

#include <cstdint>
#include <string>

#include "base/digest.h"
#include "model/record.h"

namespace girdle::model {

// The first eight bytes of the SHA-256 of append_content(). Stored in ledgers, so it never changes. One object serves
// one thread, for any number of records.
class ContentNumbers {
 public:
  template <class Record>
  int64_t of(const Record& record) {
    scratch_.clear();
    append_content(scratch_, record);
    return of_scratch();
  }

 private:
  int64_t of_scratch();

  base::Sha256 hash_;
  std::string scratch_;
};

}  // namespace girdle::model
