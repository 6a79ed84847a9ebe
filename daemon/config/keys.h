// Every key that the configuration may have, section by section: what the parser accepts, what the schemas allow and
// what the reference page (README.md) explains. Tests hold the three together.
#pragma once

#include "config/section.h"

namespace girdle::config::keys {

inline constexpr Key kTop[] = {{"site", true}, {"timezone"}, {"ledger", true}, {"api"},     {"policy"},
                               {"log"},        {"readers"},  {"instruments"},  {"intakes"}, {"outlets"}};
inline constexpr Key kLedger[] = {{"path", true}};
inline constexpr Key kApi[] = {{"listen", true}};
inline constexpr Key kLog[] = {{"level", true}};
inline constexpr Key kInstrument[] = {{"serial", true}, {"bench"}, {"cycle"}, {"scope"}, {"ambient"}};
inline constexpr Key kScope[] = {{"color"}, {"carat"}, {"table_mm"}};
inline constexpr Key kAmbient[] = {{"temperature_c"}, {"humidity_pct"}};
inline constexpr Key kIntake[] = {{"name", true},   {"folder"},        {"serial"},    {"tcp"},
                                  {"reader", true}, {"options"},       {"mapping", true}, {"max_record"}};
inline constexpr Key kFolder[] = {{"path", true}, {"match"}, {"content"}, {"settle"}, {"scan_every"}, {"done"}, {"max_size"}};
inline constexpr Key kSerial[] = {{"device", true}, {"baud"}, {"data_bits"}, {"parity"}, {"stop_bits"}, {"frame"}};
inline constexpr Key kTcp[] = {{"connect", true}, {"frame"}};
inline constexpr Key kFrame[] = {{"kind", true}, {"max"}, {"start"}, {"end"}, {"check"}, {"check_as"}, {"order"}, {"range"}};
inline constexpr Key kRange[] = {{"start"}, {"end"}};
inline constexpr Key kOutlet[] = {{"name", true}, {"webhook", true}, {"retry"}, {"in_flight"}};
inline constexpr Key kWebhook[] = {{"url", true}, {"secret_file", true}, {"insecure"}, {"ca_file"}, {"timeout"}};
inline constexpr Key kMapping[] = {{"record", true}, {"zone"}, {"twice"}, {"fields", true}};
inline constexpr Key kFieldRule[] = {{"from"}, {"value"}, {"words"}, {"form"}, {"zone"},
                                     {"twice"}, {"unit"}, {"decimal"}, {"group"}};
inline constexpr Key kPolicy[] = {{"name", true}, {"version", true}, {"parameters"}, {"reopen_after"},
                                  {"scan_fresh"}, {"reasons"},       {"table"}};
inline constexpr Key kParameters[] = {{"required"}, {"accept_unknown_scope"}};
inline constexpr Key kTable[] = {{"hit_policy"}, {"aggregation"}, {"inputs", true}, {"outputs", true}, {"rules", true}};
inline constexpr Key kTableInput[] = {{"expression", true}, {"type"}, {"allowed_values"}};
inline constexpr Key kTableOutput[] = {{"name"}, {"type"}, {"allowed_values"}, {"default"}};
inline constexpr Key kTableRule[] = {{"when", true}, {"then", true}, {"note"}};

}  // namespace girdle::config::keys
