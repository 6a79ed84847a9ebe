// A body of one's own as rows of CSV (RFC 4180): lines end in CRLF, UTF-8 without a byte order
// mark.
//
// A cell is quoted where it holds the delimiter, a quote, CR or LF, or begins or ends with white
// space that importers like to drop; a quote in it is doubled. A value that is not there is an
// empty cell. Nothing else is changed: a stock number that begins with "=", "+", "-" or "@" reaches
// the importer as it is. A person who opens such a file in a spreadsheet imports those columns as
// text, or the spreadsheet takes them for formulas. NUL is refused: importers end a cell at it.
#pragma once

#include <memory>

#include "base/time.h"
#include "config/problem.h"
#include "config/settings.h"
#include "delivery/body.h"

namespace girdle::delivery {

// Reports what is wrong with the columns; then there is none.
std::unique_ptr<Body> make_csv_body(const config::Outlet& outlet, const base::Zone& zone,
                                    const config::Report& report);

}  // namespace girdle::delivery
