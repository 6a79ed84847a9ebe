#include "config/keys.h"

#include <algorithm>

#include "config/outlet_keys.h"
#include "config/settings.h"

namespace girdle::config {
namespace {

using Words = std::string_view[];
using enum KeyType;

constexpr int64_t kSecond = 1000, kHour = 3600 * kSecond, kDay = 24 * kHour;
constexpr int64_t kMiB = 1 << 20, kGiB = 1 << 30;

constexpr Key kLedger[] = {
    {"path", kPath, "The ledger's file; its folder is made where there is none", true},
    {.name = "keep_attempts",
     .type = kDuration,
     .summary = "How long each attempt at a delivery is kept; older ones become counts a day",
     .fallback = "30d",
     .least = kDay,
     .most = 3650 * kDay},
};
constexpr KeySet kLedgerKeys{"ledger", "ledger", kLedger};

constexpr Key kApi[] = {
    {"listen", kHostPort,
     "Where it listens, such as `127.0.0.1:7447`. Any other than a loopback address needs a "
     "certificate, and whoever asks a token (`girdled token add`)",
     true},
    {.name = "certificate_file",
     .type = kPath,
     .summary = "The certificate and those that it rests on (PEM); with it HTTPS is spoken",
     .needs = "key_file"},
    {.name = "key_file",
     .type = kSecret,
     .summary = "The file (mode 600) with its key (PEM)",
     .needs = "certificate_file"},
    {"hosts", kTexts,
     "Names by which browsers may call it, such as `screening.example`, besides the address and "
     "the names in the certificate; any other is refused"},
};
constexpr KeySet kApiKeys{"api", "api", kApi};

constexpr Words kLevels = {"error", "warning", "info", "debug"};
constexpr Key kLog[] = {
    {.name = "level",
     .type = kChoice,
     .summary = "The least that is written",
     .fallback = "info",
     .choices = kLevels},
};
constexpr KeySet kLogKeys{"log", "log", kLog};

constexpr Key kScope[] = {
    {"color", kUnaryTest, "Colour grades that the instrument can judge, such as `\"[D..J]\"`"},
    {"carat", kUnaryTest, "Weights in carats, such as `\"[0.03..10]\"`"},
    {"table_mm", kUnaryTest, "Table sizes in millimetres, such as `\">= 1.5\"`"},
};
constexpr KeySet kScopeKeys{"scope", "instruments[].scope", kScope};

constexpr Key kAmbient[] = {
    {"temperature_c", kUnaryTest, "Degrees Celsius in which it measures rightly"},
    {"humidity_pct", kUnaryTest, "Relative humidity in per cent in which it measures rightly"},
};
constexpr KeySet kAmbientKeys{"ambient", "instruments[].ambient", kAmbient};

constexpr int64_t kMostRuns = 1'000'000'000;
constexpr Key count_of(std::string_view finding) {
  return {.name = finding,
          .type = kWhole,
          .summary = "How often it said so",
          .fallback = "0",
          .least = 0,
          .most = kMostRuns};
}
constexpr Words kAnswers = {"natural",   "laboratory_grown", "treated",
                            "composite", "simulant",         "indeterminate"};
constexpr Key kCounts[] = {count_of(kAnswers[0]), count_of(kAnswers[1]), count_of(kAnswers[2]),
                           count_of(kAnswers[3]), count_of(kAnswers[4]), count_of(kAnswers[5])};
constexpr KeySet kCountKeys{.name = {},
                            .title = "instruments[].known_stones.IDENTITY",
                            .keys = kCounts,
                            .some_of = kAnswers};

constexpr Key identity_of(std::string_view identity, std::string_view summary) {
  return {.name = identity, .type = kMap, .summary = summary, .map = &kCountKeys};
}
constexpr Key kKnownStones[] = {
    {"source", kText, "Who measured which stones, and when", true},
    identity_of(kAnswers[0], "What it said of natural diamonds: runs by answer"),
    identity_of(kAnswers[1], "Of laboratory-grown diamonds"),
    identity_of(kAnswers[2], "Of treated diamonds"),
    identity_of(kAnswers[3], "Of composite stones"),
    identity_of(kAnswers[4], "Of simulants"),
};
constexpr KeySet kKnownStonesKeys{.name = "known_stones",
                                  .title = "instruments[].known_stones",
                                  .keys = kKnownStones,
                                  .some_of = std::span(kAnswers).first<5>()};

constexpr Key kInstrument[] = {
    {"serial", kLabel, "Its serial number, as its records write it; zeros in front are kept", true},
    {"bench", kLabel, "The work place at which it stands: binds a barcode scanner's lines to it"},
    {.name = "cycle",
     .type = kDuration,
     .summary = "The shortest time between two measurements; without it, records of two intakes "
                "are never taken for one measurement",
     .least = 1,
     .most = kDay},
    {.name = "scope",
     .type = kMap,
     .summary = "Which stones it can judge; each is an S-FEEL unary test",
     .map = &kScopeKeys},
    {.name = "ambient",
     .type = kMap,
     .summary = "In which surroundings; each is an S-FEEL unary test",
     .map = &kAmbientKeys},
    {.name = "known_stones",
     .type = kMap,
     .summary = "What it said of stones whose identity is known; without it no probability is "
                "computed from its readings",
     .map = &kKnownStonesKeys},
};
constexpr KeySet kInstrumentKeys{"an instrument", "instruments[]", kInstrument};

constexpr Words kContents = {"whole", "growing"};
constexpr Words kDone = {"stay", "move"};
constexpr Key kFolder[] = {
    {"path", kPath, "The folder that is watched; it must be there", true},
    {.name = "match",
     .type = kText,
     .summary = "Names of files, with `*`, `?` and `[abc]`",
     .fallback = "*"},
    {.name = "content",
     .type = kChoice,
     .summary = "`whole`: each file is one document; `growing`: lines are added at the end",
     .fallback = "whole",
     .choices = kContents},
    {.name = "settle",
     .type = kDuration,
     .summary = "How long a file that was not closed or moved in must stand still",
     .fallback = "2s",
     .least = 0,
     .most = kHour},
    {.name = "scan_every",
     .type = kDuration,
     .summary = "How often the whole folder is looked through",
     .fallback = "30s",
     .least = kSecond,
     .most = kDay},
    {.name = "done",
     .type = kChoice,
     .summary = "`move`: files that were taken in go to the folder `done` inside it",
     .fallback = "stay",
     .choices = kDone},
    {.name = "max_size",
     .type = kSize,
     .summary = "A larger file is set aside unread",
     .fallback = "256MiB",
     .least = 1,
     .most = 64 * kGiB},
};
constexpr KeySet kFolderKeys{"folder", "intakes[].folder", kFolder};

constexpr Words kIncluded = {"excluded", "included"};
constexpr Key kRange[] = {
    {.name = "start",
     .type = kChoice,
     .summary = "Whether the start is checked too",
     .fallback = "excluded",
     .choices = kIncluded},
    {.name = "end",
     .type = kChoice,
     .summary = "Whether the end is checked too",
     .fallback = "included",
     .choices = kIncluded},
};
constexpr KeySet kRangeKeys{"range", "frame.range", kRange};

constexpr Words kFrameKinds = {"line", "block", "astm"};
constexpr Words kCheckAs = {"bytes", "hex"};
constexpr Words kOrders = {"high_first", "low_first"};
// The names of the public catalogue of CRC algorithms; a test holds them against framing's.
constexpr Words kChecks = {"xor8",
                           "neg-sum8",
                           "sum8-hex",
                           "crc-3/gsm",
                           "crc-3/rohc",
                           "crc-4/g-704",
                           "crc-4/interlaken",
                           "crc-5/epc-c1g2",
                           "crc-5/g-704",
                           "crc-5/usb",
                           "crc-6/cdma2000-a",
                           "crc-6/cdma2000-b",
                           "crc-6/darc",
                           "crc-6/g-704",
                           "crc-6/gsm",
                           "crc-7/mmc",
                           "crc-7/rohc",
                           "crc-7/umts",
                           "crc-8/autosar",
                           "crc-8/bluetooth",
                           "crc-8/cdma2000",
                           "crc-8/darc",
                           "crc-8/dvb-s2",
                           "crc-8/gsm-a",
                           "crc-8/gsm-b",
                           "crc-8/hitag",
                           "crc-8/i-432-1",
                           "crc-8/i-code",
                           "crc-8/lte",
                           "crc-8/maxim-dow",
                           "crc-8/mifare-mad",
                           "crc-8/nrsc-5",
                           "crc-8/opensafety",
                           "crc-8/rohc",
                           "crc-8/sae-j1850",
                           "crc-8/smbus",
                           "crc-8/tech-3250",
                           "crc-8/wcdma",
                           "crc-10/atm",
                           "crc-10/cdma2000",
                           "crc-10/gsm",
                           "crc-11/flexray",
                           "crc-11/umts",
                           "crc-12/cdma2000",
                           "crc-12/dect",
                           "crc-12/gsm",
                           "crc-12/umts",
                           "crc-13/bbc",
                           "crc-14/darc",
                           "crc-14/gsm",
                           "crc-15/can",
                           "crc-15/mpt1327",
                           "crc-16/arc",
                           "crc-16/cdma2000",
                           "crc-16/cms",
                           "crc-16/dds-110",
                           "crc-16/dect-r",
                           "crc-16/dect-x",
                           "crc-16/dnp",
                           "crc-16/en-13757",
                           "crc-16/genibus",
                           "crc-16/gsm",
                           "crc-16/ibm-3740",
                           "crc-16/ibm-sdlc",
                           "crc-16/iso-iec-14443-3-a",
                           "crc-16/kermit",
                           "crc-16/lj1200",
                           "crc-16/m17",
                           "crc-16/maxim-dow",
                           "crc-16/mcrf4xx",
                           "crc-16/modbus",
                           "crc-16/nrsc-5",
                           "crc-16/opensafety-a",
                           "crc-16/opensafety-b",
                           "crc-16/profibus",
                           "crc-16/riello",
                           "crc-16/spi-fujitsu",
                           "crc-16/t10-dif",
                           "crc-16/teledisk",
                           "crc-16/tms37157",
                           "crc-16/umts",
                           "crc-16/usb",
                           "crc-16/xmodem",
                           "crc-17/can-fd",
                           "crc-21/can-fd",
                           "crc-24/ble",
                           "crc-24/flexray-a",
                           "crc-24/flexray-b",
                           "crc-24/interlaken",
                           "crc-24/lte-a",
                           "crc-24/lte-b",
                           "crc-24/openpgp",
                           "crc-24/os-9",
                           "crc-30/cdma",
                           "crc-31/philips",
                           "crc-32/aixm",
                           "crc-32/autosar",
                           "crc-32/base91-d",
                           "crc-32/bzip2",
                           "crc-32/cd-rom-edc",
                           "crc-32/cksum",
                           "crc-32/iscsi",
                           "crc-32/iso-hdlc",
                           "crc-32/jamcrc",
                           "crc-32/mef",
                           "crc-32/mpeg-2",
                           "crc-32/xfer",
                           "crc-40/gsm",
                           "crc-64/ecma-182",
                           "crc-64/go-iso",
                           "crc-64/ms",
                           "crc-64/nvme",
                           "crc-64/redis",
                           "crc-64/we",
                           "crc-64/xz"};
// In the order of AstmDeviation.
constexpr Key kAccept[] = {
    {.name = kAstmDeviationNames[0],
     .type = kFlag,
     .summary = "Checksums that count STX too",
     .fallback = "false"},
    {.name = kAstmDeviationNames[1],
     .type = kFlag,
     .summary = "Checksums that do not count ETX or ETB",
     .fallback = "false"},
    {.name = kAstmDeviationNames[2],
     .type = kFlag,
     .summary = "Checksums in lower-case digits",
     .fallback = "false"},
    {.name = kAstmDeviationNames[3],
     .type = kFlag,
     .summary = "Frames without a checksum",
     .fallback = "false"},
    {.name = kAstmDeviationNames[4],
     .type = kFlag,
     .summary = "Records that end at ETX, without their CR",
     .fallback = "false"},
    {.name = kAstmDeviationNames[5],
     .type = kFlag,
     .summary = "Frames without the CR LF behind them, or with one of the two",
     .fallback = "false"},
    {.name = kAstmDeviationNames[6],
     .type = kFlag,
     .summary =
         "Frames with more than one record, or with the end of one and the beginning of the next",
     .fallback = "false"},
    {.name = kAstmDeviationNames[7],
     .type = kFlag,
     .summary =
         "Records that go on in the next frame though theirs ends with ETX; not with `no_cr`",
     .fallback = "false"},
    {.name = kAstmDeviationNames[8],
     .type = kFlag,
     .summary = "Frame numbers that leave some out",
     .fallback = "false"},
    {.name = kAstmDeviationNames[9],
     .type = kFlag,
     .summary = "Frame numbers that stay the same",
     .fallback = "false"},
    {.name = kAstmDeviationNames[10],
     .type = kFlag,
     .summary = "Frames without an ENQ before them",
     .fallback = "false"},
    {.name = kAstmDeviationNames[11],
     .type = kFlag,
     .summary = "Sessions without an EOT at their end",
     .fallback = "false"},
};
constexpr KeySet kAcceptKeys{"accept", "frame.accept", kAccept};

constexpr Key kFrame[] = {
    {.name = "kind",
     .type = kChoice,
     .summary = "`line`: up to CR, LF or CRLF; `block`: from a start to an end; `astm`: frames "
                "after ASTM E1381, each answered once it is stored",
     .required = true,
     .choices = kFrameKinds},
    {.name = "max",
     .type = kSize,
     .summary = "A longer frame is set aside",
     .fallback = "64KiB",
     .least = 1,
     .most = 16 * kMiB},
    {.name = "start",
     .type = kBytes,
     .summary = "Blocks only: the bytes before a block, as hexadecimal digits",
     .fallback = "02"},
    {.name = "end",
     .type = kBytes,
     .summary = "Blocks only: the bytes after a block, as hexadecimal digits",
     .fallback = "03"},
    {.name = "check",
     .type = kChoice,
     .summary = "Blocks only: what is computed over a block and stands behind its end; without it "
                "there is no check",
     .choices = kChecks,
     .any_case = true},
    {.name = "check_as",
     .type = kChoice,
     .summary = "Blocks only: how the check is written; `sum8-hex` is always `hex`",
     .fallback = "bytes",
     .choices = kCheckAs},
    {.name = "order",
     .type = kChoice,
     .summary =
         "Blocks only: which byte of a check of several comes first, the highest or the lowest",
     .fallback = "high_first",
     .choices = kOrders},
    {.name = "range",
     .type = kMap,
     .summary = "Blocks only: what the check covers",
     .map = &kRangeKeys},
    {.name = "timeout",
     .type = kDuration,
     .summary = "`astm` only: after so long a silence within a session it is over",
     .fallback = "30s",
     .least = kSecond,
     .most = kHour},
    {.name = "accept",
     .type = kMap,
     .summary = "`astm` only: what the sender does otherwise than ASTM E1381 says",
     .map = &kAcceptKeys},
};
constexpr KeySet kFrameKeys{"frame", "frame", kFrame};

// Speeds that the system's terminal interface has names for, from 300 on.
constexpr Words kBauds = {"300",     "600",     "1200",    "1800",   "2400",    "4800",
                          "9600",    "19200",   "38400",   "57600",  "115200",  "230400",
                          "460800",  "500000",  "576000",  "921600", "1000000", "1152000",
                          "2000000", "3000000", "3500000", "4000000"};
constexpr Words kDataBits = {"7", "8"};
constexpr Words kStopBits = {"1", "2"};
constexpr Words kParities = {"none", "even", "odd"};
constexpr Key kFrameKey{.name = "frame",
                        .type = kChoiceOrMap,
                        .summary =
                            "How messages are cut out of the stream: a kind of frame, or a map "
                            "(below)",
                        .fallback = "line",
                        .choices = kFrameKinds,
                        .map = &kFrameKeys};
constexpr Key kSerial[] = {
    {"device", kPath,
     "The line's device, best by its name in `/dev/serial/by-id`; it may come later", true},
    {.name = "baud",
     .type = kChoice,
     .summary = "Bits a second",
     .fallback = "9600",
     .choices = kBauds},
    {.name = "data_bits",
     .type = kChoice,
     .summary = "Bits of a character",
     .fallback = "8",
     .choices = kDataBits},
    {.name = "parity",
     .type = kChoice,
     .summary = "The parity bit",
     .fallback = "none",
     .choices = kParities},
    {.name = "stop_bits",
     .type = kChoice,
     .summary = "Stop bits",
     .fallback = "1",
     .choices = kStopBits},
    kFrameKey,
};
constexpr KeySet kSerialKeys{"serial", "intakes[].serial", kSerial};

constexpr Key kTcp[] = {
    {"connect", kHostPort, "Where to connect to, such as `10.0.0.7:4001` or `[fd00::7]:4001`",
     true},
    kFrameKey,
};
constexpr KeySet kTcpKeys{"tcp", "intakes[].tcp", kTcp};

constexpr Key kPost[] = {
    {.name = "max_size",
     .type = kSize,
     .summary = "A larger document is refused",
     .fallback = "1MiB",
     .least = 64,
     .most = kMiB},
};
constexpr KeySet kPostKeys{"post", "intakes[].post", kPost};

constexpr Words kSources = {"folder", "serial", "tcp", "post"};
constexpr Words kIsolated = {"foreign", "always", "never"};
constexpr Key kIntake[] = {
    {"name", kName, "Its name in lists and logs; keep it, positions in files are stored under it",
     true},
    {.name = "folder", .type = kMap, .summary = "Files in a folder", .map = &kFolderKeys},
    {.name = "serial", .type = kMap, .summary = "A serial line", .map = &kSerialKeys},
    {.name = "tcp",
     .type = kMap,
     .summary = "A TCP line to which girdled connects",
     .map = &kTcpKeys},
    {.name = "post",
     .type = kMap,
     .summary = "Documents that are posted to `/api/v1/intakes/NAME`; `post: {}` will do",
     .map = &kPostKeys},
    {"reader", kLabel, "The reader that takes the documents apart, such as `delimited` or `json`",
     true},
    {"options", kTextMap, "The reader's own options, by name; its manifest says which"},
    {.name = "isolate",
     .type = kChoice,
     .summary = "Which reader runs in a process of its own, that can hurt nobody: `foreign`, one "
                "that does not ship with girdled; `always`, any; `never`, none: only for a reader "
                "that you trust like girdled itself, which ends when the reader crashes",
     .fallback = "foreign",
     .choices = kIsolated},
    {"mapping", kPath, "The mapping file that makes readings of what the reader gives", true},
    {.name = "max_record",
     .type = kSize,
     .summary = "A longer record is set aside",
     .fallback = "1MiB",
     .least = 64,  // what the readers that ship need
     .most = 64 * kMiB},
};
constexpr KeySet kIntakeKeys{"an intake", "intakes[]", kIntake, kSources};

constexpr Words kMarkets = {"iso", "cibjo", "us"};
constexpr Key kSettings[] = {
    {"site", kName, "The shop, office or vault; outcomes carry it", true},
    {.name = "timezone",
     .type = kZone,
     .summary = "Of instruments that write local time: an IANA name such as `Europe/Brussels`",
     .fallback = "UTC"},
    {.name = "language",
     .type = kLanguage,
     .summary = "Of reasons: a tag such as `en`, `de` or `pt-BR` (BCP 47)",
     .fallback = "en"},
    {.name = "market",
     .type = kChoice,
     .summary = "Whose words of disclosure outcomes tell; without it none",
     .choices = kMarkets},
    {.name = "ledger",
     .type = kMap,
     .summary = "The durable store",
     .required = true,
     .map = &kLedgerKeys},
    {.name = "api", .type = kMap, .summary = "HTTP: the API, the metrics and the console; without it none is served", .map = &kApiKeys},
    {.name = "policy",
     .type = kPath,
     .summary = "The house's policy file; without it, or with nothing after it, the default policy",
     .may_be_empty = true},
    {.name = "next_policy",
     .type = kPath,
     .summary = "The policy file that takes over at its `valid_from`, which it must have",
     .may_be_empty = true},
    {.name = "shadow_policy",
     .type = kPath,
     .summary = "A policy file that answers too; its answers are kept and not delivered",
     .may_be_empty = true},
    {.name = "log", .type = kMap, .summary = "The log", .map = &kLogKeys},
    {.name = "readers",
     .type = kPaths,
     .summary = "Folders that are searched for readers' manifests, besides the installed ones",
     .may_be_empty = true},
    {.name = "instruments",
     .type = kMaps,
     .summary = "The screening devices",
     .map = &kInstrumentKeys,
     .may_be_empty = true},
    {.name = "intakes",
     .type = kMaps,
     .summary = "Where records come in",
     .map = &kIntakeKeys,
     .may_be_empty = true},
    {.name = "outlets",
     .type = kMaps,
     .summary = "Where outcomes go",
     .map = &kOutletKeys,
     .may_be_empty = true},
};

constexpr const KeySet* kSettingsPages[] = {
    &kSettingsKeys,    &kLedgerKeys,  &kApiKeys,         &kLogKeys,   &kInstrumentKeys,
    &kScopeKeys,       &kAmbientKeys, &kKnownStonesKeys, &kCountKeys, &kIntakeKeys,
    &kFolderKeys,      &kSerialKeys,  &kTcpKeys, &kPostKeys, &kFrameKeys, &kRangeKeys,
    &kAcceptKeys,      &kOutletKeys,  &kWebhookKeys,     &kBasicKeys, &kOAuthKeys,
    &kCertificateKeys, &kProxyKeys,   &kDropFolderKeys,  &kBatchKeys, &kBodyKeys,
    &kEpcisKeys,       &kValueKeys};

}  // namespace

constexpr KeySet kSettingsKeys{"the configuration", "girdled.yaml", kSettings};
constexpr std::span<const KeySet* const> kSettingsPage = kSettingsPages;

const Key* KeySet::find(std::string_view key) const {
  const auto at =
      std::find_if(keys.begin(), keys.end(), [&](const Key& known) { return known.name == key; });
  return at == keys.end() ? nullptr : &*at;
}

}  // namespace girdle::config
