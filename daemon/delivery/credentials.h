// The credentials of HTTP Basic (RFC 7617).
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "config/settings.h"
#include "delivery/secret_file.h"

namespace girdle::delivery {

// "Basic " and the base64 of "user:password", both in UTF-8. The error: the user has a ":" or a
// control character.
base::Result<SecretBytes> basic_credentials(std::string_view user, std::string_view password);
// The same with the file's password; an error names the file.
base::Result<SecretBytes> basic_credentials(std::string_view user,
                                            const config::SecretFile& password);

}  // namespace girdle::delivery
