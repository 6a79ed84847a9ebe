// A reader's library in the process where it is vetted.
#pragma once

#include <girdle/reader.h>

#include <string>
#include <vector>

#include "reading/manifest.h"
#include "vet/trial.h"

namespace girdle::vet {

// Stays loaded until the process ends.
struct Loaded {
  decltype(&girdle_reader_negotiate) negotiate = nullptr;
  decltype(&girdle_reader_descriptor_at) descriptor_at = nullptr;
  const girdle_reader_descriptor* descriptor = nullptr;  // of the manifest's name
  std::string error;                                     // why one of the above is not there
};

Loaded load(Trial& trial, const reading::Manifest& manifest);

constexpr uint32_t kMostReaders = 64;  // looked at in one library

// All of the library, up to the first NULL.
std::vector<const girdle_reader_descriptor*> descriptors(Trial& trial, const Loaded& loaded);

}  // namespace girdle::vet
