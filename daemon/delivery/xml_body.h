// A body of one's own in XML 1.0, in UTF-8.
//
// The tree is an object with one member, the root element. A member of an object is a child
// element; a list makes its element come again for each of its values; a key "@name" is an
// attribute, and "#text" the text of an element that has attributes. A value that is not there
// leaves its element or attribute out; an element that the tree gives as an object is always there.
// Prefixes are declared by "@xmlns:prefix", which is a constant, as "@xmlns" is.
//
// Several outcomes in one message stand in an element around them: the configuration's `list`,
// which is written around one too where it is given. A character that XML cannot hold is an error
// of that outcome.
#pragma once

#include <memory>

#include "base/time.h"
#include "config/problem.h"
#include "config/settings.h"
#include "delivery/body.h"

namespace girdle::delivery {

// Reports what is wrong with the tree; then there is none.
std::unique_ptr<Body> make_xml_body(const config::Outlet& outlet, const base::Zone& zone,
                                    const config::Report& report);

}  // namespace girdle::delivery
