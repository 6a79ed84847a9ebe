// A body of one's own as fields of a form: application/x-www-form-urlencoded.
//
// A value that is not there leaves its field out. A form holds one outcome, so it goes with no
// batch and no folder.
#pragma once

#include <memory>

#include "base/time.h"
#include "config/problem.h"
#include "config/settings.h"
#include "delivery/body.h"

namespace girdle::delivery {

// Reports what is wrong with the fields; then there is none.
std::unique_ptr<Body> make_form_body(const config::Outlet& outlet, const base::Zone& zone,
                                     const config::Report& report);

}  // namespace girdle::delivery
