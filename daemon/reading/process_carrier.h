// A reader in a process of its own, girdled-reader-host, which is not trusted: whatever it does
// costs the document at hand and no other. daemon/reader_host/README.md has the protocol.
#pragma once

#include "reading/carrier.h"
#include "reading/manifest.h"

namespace girdle::reading {

// What the process is told when it starts.
struct IsolatedReader {
  Manifest manifest;
  Options options;  // with the manifest's defaults
  uint64_t max_record_bytes = 0;
  uint64_t max_fields = 0;
};

// One document at a time.
std::unique_ptr<Carriage> carry_to_process(const IsolatedReader& reader, Isolation isolation);

}  // namespace girdle::reading
