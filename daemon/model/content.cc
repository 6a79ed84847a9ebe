#include "model/content.h"

#include <cstring>

namespace girdle::model {

int64_t ContentNumbers::of_scratch() {
  hash_.update(scratch_);
  const base::Digest digest = hash_.finish();
  int64_t number;
  std::memcpy(&number, digest.data(), sizeof number);
  return number;
}

}  // namespace girdle::model
