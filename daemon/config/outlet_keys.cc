// The keys of an outlet.
#include "config/outlet_keys.h"

namespace girdle::config {
namespace {

using Words = std::string_view[];
using enum KeyType;

constexpr int64_t kSecond = 1000, kDay = 24 * 3600 * kSecond;

// --- one value of a message

constexpr Words kSources = {"from", "value"};
constexpr Words kDecimals = {".", ","};
constexpr Words kValueTypes = {"text", "number", "flag"};
constexpr Key kValue[] = {
    {"from", kPointers,
     "Where in the event it stands, as a JSON Pointer (RFC 6901); the texts of several are joined"},
    {.name = "join",
     .type = kConstant,
     .summary = "What stands between the texts of several; it may be empty",
     .fallback = " ",
     .needs = "from"},
    {"value", kScalar, "A constant; needed where `as` says what it is"},
    {.name = "words",
     .type = kTextMap,
     .summary =
         "Our words and theirs: all that the field can have, or with a `default` some of them",
     .least = 1,
     .needs = "from"},
    {.name = "default",
     .type = kScalar,
     .summary = "What is sent where the event has no value there, or a word that `words` has not; "
                "without it "
                "null in JSON, nothing in CSV, and no element or field",
     .needs = "from"},
    {.name = "decimal",
     .type = kChoice,
     .summary = "The decimal mark of numbers",
     .fallback = ".",
     .choices = kDecimals,
     .needs = "from"},
    {.name = "form",
     .type = kWrittenForm,
     .summary = "How a time is written: `rfc3339`, `unix`, `unix_ms`, or a pattern such as "
                "`\"%d.%m.%Y %H:%M:%S\"` or `\"%H:%M\"`; without it as the event has it",
     .needs = "from"},
    {.name = "zone",
     .type = kZone,
     .summary = "Of times in that form; without it the site's",
     .needs = "form"},
    {.name = "as",
     .type = kChoice,
     .summary = "What it is in JSON; without it what is taken from the event is what it is there, "
                "and a constant what it looks like: in quotes a text",
     .choices = kValueTypes},
};

// --- bodies

constexpr Words kCloudEvents = {"structured", "binary", "batch"};
constexpr Words kBodyWords = {"cloudevents", "webhook"};
constexpr Words kBodyKinds = {"cloudevents", "epcis", "json", "xml", "form", "csv"};
constexpr Words kDelimiters = {",", ";", "|", "tab"};
constexpr Key kEpcis[] = {
    {"item", kText,
     "The URI of a stone or piece: `{stock_number}` in it stands for the stock number", true},
    {"location", kText, "The URI of the site; without it none is told"},
    {"reader", kText,
     "The URI of an instrument: `{instrument}` in it stands for the serial number; without it "
     "none is told"},
};
constexpr Key kBody[] = {
    {.name = kBodyKinds[0],
     .type = kChoice,
     .summary = "CloudEvents 1.0: one event as JSON, one in header fields and body, or a list",
     .choices = kCloudEvents},
    {.name = kBodyKinds[1], .type = kMap, .summary = "An EPCIS 2.0 document", .map = &kEpcisKeys},
    {.name = kBodyKinds[2],
     .type = kTree,
     .summary = "JSON of your own: constants, values, maps and lists",
     .map = &kValueKeys},
    {.name = kBodyKinds[3],
     .type = kElement,
     .summary = "XML of your own: the root element, and in it constants, values, maps and lists",
     .map = &kValueKeys},
    {.name = "list",
     .type = kText,
     .summary = "The element around several outcomes in one file",
     .needs = kBodyKinds[3]},
    {.name = kBodyKinds[4],
     .type = kValues,
     .summary = "The fields of a form, by name",
     .least = 1,
     .map = &kValueKeys},
    {.name = kBodyKinds[5],
     .type = kValues,
     .summary = "The columns of a row, by name",
     .least = 1,
     .map = &kValueKeys},
    {.name = "delimiter",
     .type = kChoice,
     .summary = "What stands between columns",
     .fallback = ",",
     .choices = kDelimiters,
     .needs = kBodyKinds[5]},
    {.name = "header",
     .type = kFlag,
     .summary = "Whether the first row has the names of the columns",
     .fallback = "true",
     .needs = kBodyKinds[5]},
};

// --- webhooks

constexpr Key secret(std::string_view name, std::string_view summary, bool required = false) {
  return {.name = name, .type = kSecret, .summary = summary, .required = required};
}

constexpr Key kBasic[] = {
    {"user", kLabel, "The user's name", true},
    secret("password_file", "The file (mode 600) with the password", true),
};

constexpr Words kClients = {"header", "body"};
constexpr Key kOAuth[] = {
    {"token_url", kText, "Where tokens are asked for, `https://…`", true},
    {"client_id", kLabel, "girdled's name there", true},
    secret("client_secret_file", "The file (mode 600) with the client's secret", true),
    {"scope", kLabel, "What the token is asked for; without it the server's usual"},
    {.name = "client",
     .type = kChoice,
     .summary = "Where name and secret stand: in the header `Authorization`, or in the body",
     .fallback = kClients[0],
     .choices = kClients},
};

constexpr Key kCertificate[] = {
    {"certificate_file", kPath, "The certificate and those that it rests on (PEM)", true},
    secret("key_file", "The file (mode 600) with its key (PEM)", true),
};

constexpr Key kProxy[] = {
    {"url", kText, "`http://host:port`", true},
    {.name = "user", .type = kLabel, .summary = "The user's name", .needs = "password_file"},
    {.name = "password_file",
     .type = kSecret,
     .summary = "The file (mode 600) with the password",
     .needs = "user"},
};

constexpr Words kMethods = {"POST", "PUT", "PATCH"};
// How the receiver knows who sends.
constexpr Words kSenders = {"secret_file", "bearer_file", "basic",
                            "oauth",       "certificate", "anonymous"};
constexpr Key kWebhook[] = {
    {"url", kText, "`https://…`; `http://` only to this machine's own loopback", true},
    {.name = "method",
     .type = kChoice,
     .summary = "The method of HTTP",
     .fallback = kMethods[0],
     .choices = kMethods},
    {.name = "path",
     .type = kValueList,
     .summary = "Segments behind the url's path",
     .map = &kValueKeys},
    {.name = "query",
     .type = kValues,
     .summary = "Parameters behind the url's query, by name",
     .map = &kValueKeys},
    {.name = "headers",
     .type = kValues,
     .summary = "Header fields besides girdled's own, by name",
     .map = &kValueKeys},
    secret(
        kSenders[0],
        "A file (mode 600) with the secrets by which deliveries are signed, one a line: `whsec_` "
        "and the base64 of 24 to 64 bytes (HMAC), or `whsk_` and that of an Ed25519 key; while "
        "one changes, the new one and below it the old"),
    secret(kSenders[1], "A file (mode 600) with a token that goes along (`Bearer`)"),
    {.name = kSenders[2],
     .type = kMap,
     .summary = "A user's name and password that go along (`Basic`)",
     .map = &kBasicKeys},
    {.name = kSenders[3],
     .type = kMap,
     .summary = "A token that goes along, fetched by OAuth 2.0 client credentials",
     .map = &kOAuthKeys},
    {.name = kSenders[4],
     .type = kMap,
     .summary = "A certificate that girdled shows (TLS)",
     .map = &kCertificateKeys},
    {.name = kSenders[5],
     .type = kFlag,
     .summary = "`true`, in so many words: the receiver cannot know who sends",
     .fallback = "false"},
    {.name = "proxy",
     .type = kMap,
     .summary = "The proxy through which it is reached (HTTP CONNECT)",
     .map = &kProxyKeys},
    {"addresses", kAddresses,
     "Addresses of kinds that are refused (link-local, multicast, metadata services) which may "
     "be used all the same"},
    {"reference", kPointer,
     "Where in the receiver's JSON answer its own name for what it took stands, as a JSON Pointer; "
     "it is kept with the delivery"},
    {.name = "insecure",
     .type = kFlag,
     .summary = "`true` allows `http://` to other machines: anybody on the way can read it",
     .fallback = "false"},
    {"ca_file", kPath, "Certificates to trust (PEM), instead of the system's"},
    {.name = "timeout",
     .type = kDuration,
     .summary = "For one attempt, from connecting to the answer's last byte",
     .fallback = "15s",
     .least = 100,
     .most = 300 * kSecond},
};

// --- drop folders, and outlets

constexpr Key kDropFolder[] = {
    {"path", kPath, "The folder; it must be there, on a file system that can rename", true},
    {"name", kText,
     "How files are called, such as `\"screening-{id}.csv\"`; without it by time and id"},
};

constexpr Key kBatch[] = {
    {.name = "count",
     .type = kWhole,
     .summary = "At most so many",
     .required = true,
     .least = 1,
     .most = 10'000},
    {.name = "wait",
     .type = kDuration,
     .summary = "Fewer are sent so long after the first of them; without it at once",
     .fallback = "0ms",
     .least = 0,
     .most = kDay},
};

constexpr Words kWays = {"webhook", "folder"};
constexpr Words kOutcomes = {"every", "latest"};
constexpr Key kOutlet[] = {
    {"name", kName, "Its name in lists and logs; keep it, deliveries are stored under it", true},
    {.name = kWays[0],
     .type = kMap,
     .summary = "An address that outcomes are sent to",
     .map = &kWebhookKeys},
    {.name = kWays[1],
     .type = kMap,
     .summary = "A folder in which files are dropped, for a system that imports files",
     .map = &kDropFolderKeys},
    {.name = "body",
     .type = kChoiceOrMap,
     .summary = "What is sent: a word (`webhook`: the envelope of Standard Webhooks), or a map "
                "(below)",
     .fallback = kBodyWords[0],
     .choices = kBodyWords,
     .map = &kBodyKeys,
     .else_hint = "json, xml, form, csv and epcis begin a map, such as  body: { csv: … }"},
    {.name = "batch",
     .type = kMap,
     .summary = "Several outcomes in one file, or in one `cloudevents: batch`; without it one",
     .map = &kBatchKeys},
    {.name = "outcomes",
     .type = kChoice,
     .summary = "`latest`: of a case's outcomes that wait only the last is sent",
     .fallback = kOutcomes[0],
     .choices = kOutcomes},
    {.name = "retry",
     .type = kDurations,
     .summary = "Waits between attempts, jitter added; then the delivery is parked",
     .fallback = "[5s, 5min, 30min, 2h, 5h, 10h, 14h, 20h, 24h]",
     .least = 1,
     .most = 30 * kDay},
    {.name = "in_flight",
     .type = kWhole,
     .summary = "Attempts at a time, across cases; not with a folder, which takes one",
     .fallback = "8",
     .least = 1,
     .most = 64},
    {.name = "per_minute",
     .type = kWhole,
     .summary = "At most so many attempts a minute; without it as many as it takes",
     .least = 1,
     .most = 60'000},
};

}  // namespace

constexpr KeySet kValueKeys{"a value", "value", kValue, kSources};
constexpr KeySet kEpcisKeys{"epcis", "outlets[].body.epcis", kEpcis};
constexpr KeySet kBodyKeys{"body", "outlets[].body", kBody, kBodyKinds};
constexpr KeySet kBasicKeys{"basic", "outlets[].webhook.basic", kBasic};
constexpr KeySet kOAuthKeys{"oauth", "outlets[].webhook.oauth", kOAuth};
constexpr KeySet kCertificateKeys{"certificate", "outlets[].webhook.certificate", kCertificate};
constexpr KeySet kProxyKeys{"proxy", "outlets[].webhook.proxy", kProxy};
constexpr KeySet kWebhookKeys{.name = "webhook",
                              .title = "outlets[].webhook",
                              .keys = kWebhook,
                              .some_of = kSenders,
                              .some_hint =
                                  "the receiver has to know who sends; where it cannot, "
                                  "say  anonymous: true  in so many words"};
constexpr KeySet kDropFolderKeys{"folder", "outlets[].folder", kDropFolder};
constexpr KeySet kBatchKeys{"batch", "outlets[].batch", kBatch};
constexpr KeySet kOutletKeys{"an outlet", "outlets[]", kOutlet, kWays};

}  // namespace girdle::config
