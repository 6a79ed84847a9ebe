// GS1 Digital Link URIs (GS1 Digital Link Standard: URI Syntax, 1.4), uncompressed and with numeric
// keys: .../01/09520123456788/21/12345?17=261231.
#pragma once

#include <string_view>

#include "base/gs1_code.h"

namespace girdle::base {

// In the order of the URI: the primary key, its qualifiers, the attributes. Other parameters of the
// query, and the fragment, say nothing. The error is a clause, as that of read_gs1(). `uri` has at
// most kMaxGs1Text bytes.
Result<Gs1Elements> read_gs1_link(std::string_view uri);

// Whether a text is meant as a URI of the web.
bool begins_as_link(std::string_view text);

}  // namespace girdle::base
