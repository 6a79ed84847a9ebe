// Keeps our secrets out of what receivers say: some send back the headers that they got.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "delivery/secret_file.h"

namespace girdle::delivery {

class Blanks {
 public:
  // Keeps a copy, which is overwritten when it goes.
  void add(std::string_view secret);

  // The text with each of the secrets, `also`, and everything that is written like a secret of
  // signatures overwritten. Told too where it stands escaped as JSON strings or URLs do.
  std::string operator()(std::string_view text, std::string_view also = {}) const;

 private:
  std::vector<SecretBytes> secrets_;
};

}  // namespace girdle::delivery
