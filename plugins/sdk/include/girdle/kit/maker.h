// How a reader comes to be that is made of its options, and goes on from a state that it saved.
#pragma once

#include <memory>
#include <string>
#include <utility>

#include "girdle/kit/setup.h"
#include "girdle/kit/text.h"
#include "girdle/reader.h"

namespace girdle::kit {

// A friend of the class, whose constructor and `resume` are nobody else's.
class Maker {
 public:
  // What Class::create of kit/descriptor.h gives. `options_from` makes an optional of the setup,
  // with the reason in `refusal` where it is empty; Class is constructed from the host, the setup
  // and what is in it; bool resume(state) is false where the state is not its own.
  template <class Class, class OptionsFrom>
  static std::unique_ptr<Class> make(const girdle_reader_host& host,
                                     const girdle_reader_setup& setup, std::string& refusal,
                                     OptionsFrom options_from) {
    refusal = wrong_limits(setup);
    if (!refusal.empty()) return nullptr;
    auto options = options_from(setup, refusal);
    if (!options) return nullptr;
    std::unique_ptr<Class> reader(new Class(host, setup, std::move(*options)));
    if (setup.resume.size > 0 && !reader->resume(view(setup.resume))) {
      refusal = "the saved state is not of this reader with these options; read the document anew";
      return nullptr;
    }
    return reader;
  }
};

}  // namespace girdle::kit
