// The bodies that published standards say: CloudEvents 1.0.2 in its three forms, the envelope of
// Standard Webhooks 1.0.0, and EPCIS 2.0 (epcis_body.h). README.md has an example of each.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "delivery/body.h"

namespace girdle::delivery {

// For the kinds kStructured, kBinary, kBatch, kWebhook and kEpcis, else nothing. What is wrong in
// the configuration is reported at its place; then there is no body. Which body goes by which way,
// and which with `batch`, config/ has seen to. `zone` is the site's, for the local offset in EPCIS
// events.
std::unique_ptr<Body> make_standard_body(const config::Outlet& outlet, const config::Report& report,
                                         const base::Zone& zone = base::Zone::utc());

// The value of a ce-* header field (CloudEvents 1.0.2, HTTP binding, 3.1.3.2): what is not
// printable ASCII, and space, double quote and percent, as %XX. Appends to `out`.
void append_header_value(std::string& out, std::string_view value);

}  // namespace girdle::delivery
