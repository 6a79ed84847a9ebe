// The credentials of HTTP Basic (RFC 7617), and the encoding of forms that OAuth 2.0 asks for.
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

// application/x-www-form-urlencoded of UTF-8, as RFC 6749 appendix B has it.
void append_form_encoded(std::string& out, std::string_view text);

}  // namespace girdle::delivery
