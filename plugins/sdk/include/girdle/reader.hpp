// Writing a reader in C++20: a class with create, feed, finish, consumed and save becomes one, and
// no exception of it reaches the host. Header-only; the contract is girdle/reader.h.
//
//   class Slips {
//    public:
//     static std::unique_ptr<Slips> create(const girdle_reader_host&, const girdle_reader_setup&,
//                                          std::string& refusal);
//     girdle_status feed(std::string_view bytes);
//     girdle_status finish();
//     uint64_t consumed() const;
//     std::string_view save();
//   };
//   GIRDLE_READER_LIBRARY(girdle::kit::describe<Slips>("slips", "0.1.0"));
#pragma once

#include "girdle/kit/descriptor.h"   // a class as a reader; the library's two functions
#include "girdle/kit/output.h"       // records and asides to the host; the stop
#include "girdle/kit/saved_state.h"  // a saved state's bytes, written and taken apart
#include "girdle/kit/setup.h"        // options and limits
#include "girdle/kit/text.h"         // texts lent and viewed; UTF-8
#include "girdle/reader.h"
