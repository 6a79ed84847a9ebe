// The maps of an outlet that have a table of their own in the reference. Inside config/ only.
#pragma once

#include "config/keys.h"

namespace girdle::config {

extern const KeySet kOutletKeys;
extern const KeySet kWebhookKeys, kBasicKeys, kOAuthKeys, kCertificateKeys, kProxyKeys;
extern const KeySet kDropFolderKeys;
extern const KeySet kBodyKeys, kEpcisKeys, kValueKeys;
extern const KeySet kBatchKeys;

}  // namespace girdle::config
