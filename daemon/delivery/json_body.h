// A body of one's own in JSON (RFC 8259).
//
// A value that is not there is null: every message has the same members. In a folder or a batch
// each outcome is a line, ended by LF (JSON lines). Objects and lists of the event may be copied as
// they are.
#pragma once

#include <memory>

#include "base/time.h"
#include "config/problem.h"
#include "config/settings.h"
#include "delivery/body.h"

namespace girdle::delivery {

// Reports what is wrong with the tree; then there is none.
std::unique_ptr<Body> make_json_body(const config::Outlet& outlet, const base::Zone& zone,
                                     const config::Report& report);

}  // namespace girdle::delivery
