// The configuration, typed: what girdled.yaml and the files that it names say. Plain values; every
// text that another stage compiles (scopes, tables) keeps its place in the file, so that each error
// can be told with line and column. Paths are absolute: relative ones were taken relative to the
// configuration file.
#pragma once

#include <array>
#include <bitset>
#include <chrono>
#include <cstdint>
#include <filesystem>
#include <iterator>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "base/clock.h"
#include "base/decimal.h"
#include "config/body.h"
#include "model/mapping.h"

namespace girdle::config {

using base::Millis;
using model::Mark;

// What an instrument said of stones whose identity is known.
struct KnownStones {
  Mark mark;
  std::string source;  // who tested it, when, on what; never empty
  // Runs, by identity (the first five findings) and by answer (those and indeterminate).
  std::array<std::array<int64_t, 6>, 5> counts{};
};

struct Instrument {
  std::string serial;
  Mark mark;
  std::string bench;  // empty = none
  Millis cycle{
      0};  // shortest time between two measurements; 0 = not given, and no two routes are matched
  // S-FEEL unary tests by fact, as written. scope: color, carat, table_mm; ambient: temperature_c,
  // humidity_pct.
  std::map<std::string, Text> scope;
  std::map<std::string, Text> ambient;
  std::optional<KnownStones> known_stones;
};

struct FolderIntake {
  std::filesystem::path path;
  std::string match = "*";  // glob over file names (fnmatch)
  bool growing = false;     // content: whole | growing
  Millis settle{2000};      // how long a file that was not closed or moved in must stand still
  Millis scan_every{30000};
  bool move_done = false;             // `done: move`: files taken in go to <path>/done/
  uint64_t max_bytes = 256ull << 20;  // a larger file is set aside unread
};

// What a sender of frames may do otherwise than ASTM E1381 says, and be understood all the same
// where the configuration says so.
enum class AstmDeviation : uint8_t {
  kChecksumWithStx,
  kChecksumWithoutEnd,
  kLowerCase,
  kNoChecksum,
  kNoCr,
  kNoCrlf,
  kSeveralRecords,
  kSplitRecords,
  kSkippedNumber,
  kConstantNumber,
  kNoEnq,
  kNoEot,
};
inline constexpr std::string_view kAstmDeviationNames[] = {"checksum_with_stx",
                                                           "checksum_without_end",
                                                           "lower_case",
                                                           "no_checksum",
                                                           "no_cr",
                                                           "no_crlf",
                                                           "several_records",
                                                           "split_records",
                                                           "skipped_number",
                                                           "constant_number",
                                                           "no_enq",
                                                           "no_eot"};
using AstmDeviations = std::bitset<std::size(kAstmDeviationNames)>;

// How frames are cut from a byte stream.
struct Framing {
  enum class Kind { kLine, kBlock, kAstm } kind = Kind::kLine;
  uint64_t max_bytes = 64 << 10;  // a longer frame is set aside
  // kBlock only. Bytes.
  std::string start = "\x02";
  std::string end = "\x03";
  std::string check;       // "" | "xor8" | "neg-sum8" | "sum8-hex" | a name of the CRC catalogue
                           // ("crc-16/modbus", …)
  bool check_hex = false;  // the check is written as hexadecimal digits, not as bytes
  bool check_low_byte_first = false;
  bool check_with_start = false;  // the start byte is in the checked range
  bool check_with_end = true;     // the end byte is in the checked range
  // kAstm only.
  AstmDeviations accept;
  Millis timeout{30000};  // a session in which nothing comes for so long is over
};

struct SerialIntake {
  std::string device;
  uint32_t baud = 9600;
  int data_bits = 8;
  enum class Parity { kNone, kEven, kOdd } parity = Parity::kNone;
  int stop_bits = 1;
  Framing framing;
};

struct TcpIntake {
  std::string host;
  uint16_t port = 0;
  Framing framing;
};

// Documents that are posted to the API.
struct PostIntake {
  uint64_t max_bytes = 1 << 20;  // of a document; a larger one is refused
};

struct Intake {
  std::string name;
  Mark mark;
  std::variant<FolderIntake, SerialIntake, TcpIntake, PostIntake> source;
  std::string reader;
  Mark reader_mark;
  // The reader's own options: texts as written; checked against the reader's manifest when it is
  // found.
  std::vector<std::pair<std::string, Text>> options;
  // Which readers run in a process of their own.
  enum class Isolate { kForeign, kAlways, kNever } isolate = Isolate::kForeign;
  model::Mapping mapping;
  bool mapping_whole = false;  // otherwise `mapping` has only what is right of its file
  uint64_t max_record_bytes = 1 << 20;
};

// The file of a secret, or a credential that systemd hands to the service.
struct SecretFile {
  std::filesystem::path path;  // empty: none
  bool is_credential =
      false;  // written as `credential:NAME`; path then lies in $CREDENTIALS_DIRECTORY
  Mark mark;

  bool given() const { return !path.empty(); }
};

// What of a request is not its body.
struct Request {
  std::string method = "POST";
  std::vector<Leaf> path;                      // segments, put behind the url's path
  std::vector<std::pair<Text, Leaf>> query;    // put behind the url's query
  std::vector<std::pair<Text, Leaf>> headers;  // besides ours
};

struct Webhook {
  std::string url;
  Mark mark;
  Request request;
  bool insecure = false;          // http:// to an address that is not loopback, in so many words
  std::vector<Text> addresses;    // that may be used although they are of a kind that is refused
  std::filesystem::path ca_file;  // empty = the system's
  Millis timeout{15000};          // for one attempt, from connecting to the last byte of the answer
  std::string reference =
      "-";  // JSON Pointer to the receiver's own name for it in its answer; "-" = none
  Mark reference_mark;

  // How the receiver knows who sends: any of these together, or `anonymous` in so many words.
  SecretFile secret;  // `whsec_…` signs as v1, `whsk_…` as v1a
  SecretFile bearer;
  struct Basic {
    std::string user;
    SecretFile password;
  };
  std::optional<Basic> basic;
  struct OAuth {  // client credentials, RFC 6749 4.4
    std::string token_url;
    Mark mark;
    std::string client_id;
    SecretFile client_secret;
    std::string scope;     // empty = none
    bool in_body = false;  // the client's name and secret as form fields, not as HTTP Basic
  };
  std::optional<OAuth> oauth;
  struct Certificate {
    std::filesystem::path certificate_file;
    SecretFile key;
    Mark mark;
  };
  std::optional<Certificate> certificate;
  bool anonymous = false;

  struct Proxy {      // HTTP CONNECT, RFC 9110 9.3.6
    std::string url;  // http://host:port
    Mark mark;
    std::string user;  // empty = none
    SecretFile password;
  };
  std::optional<Proxy> proxy;
};

// Where files are dropped for a system that imports files.
struct DropFolder {
  std::filesystem::path path;
  Mark mark;
  std::string name;  // pattern of file names; empty = the body's own
  Mark name_mark;
};

// Several outcomes in one message: as many as are due, at most `count`; until then at most `wait`
// after the first.
struct Batch {
  int count = 1;
  Millis wait{0};
};

struct Outlet {
  std::string name;
  Mark mark;
  bool whole = false;  // where it sends what is all there; otherwise only what is right of it
  // One of the two: `webhook` unless there is a folder.
  Webhook webhook;
  std::optional<DropFolder> folder;
  Body body;
  Batch batch;
  bool only_latest = false;   // of a case's outcomes that wait only the last is sent
  std::vector<Millis> retry;  // waits between attempts; then parked
  int in_flight = 8;
  int per_minute = 0;  // attempts; 0 = as many as it takes
};

// The decision table's file shape (design 4.9), as text cells with their places.
//
// Where the file has a table that is wrong in its shape, so that cells or columns cannot be told
// apart, stand-ins take their places: columns and cells keep their numbers, and whoever compiles
// the table can say what is wrong with the rest. A stand-in has no place (line 0), and what is said
// of it means nothing: its fault was told already.
struct TableInput {
  Text expression;
  std::string type;
  Text allowed_values;
  bool required = false;  // a missing fact is an error
};
struct TableOutput {
  Text name;
  std::string type;
  Text allowed_values;
  Text default_value;
};
struct TableRule {
  std::vector<Text> when;
  std::vector<Text> then;
  std::string note;
  Mark mark;
};
struct DecisionTable {
  std::string file;
  bool whole = false;  // no stand-ins, and nothing left out
  // Without a place, and without an aggregation, where not all heads of the table are right: then
  // nothing can be said of the table as a whole.
  Text hit_policy;
  bool is_hit_policy_given = true;  // else it is the default
  Text aggregation;
  std::vector<TableInput> inputs;
  std::vector<TableOutput> outputs;
  std::vector<TableRule> rules;
};

// How often each identity comes by a channel, before any measurement.
struct Prior {
  Mark mark;
  std::string channel;                    // empty: by every other channel, and by none
  std::array<base::Decimal, 5> shares{};  // by identity: the first five findings; sums to 1
  std::string source;                     // where they are from; may be empty
};

// Facts, and what the policy must say of them.
struct Example {
  Mark mark;
  std::vector<std::pair<Text, Text>>
      facts;  // by name; what is left out is as of a case without readings
  // Each may be empty: then it is not asked about.
  Text disposition, reason, required;
  std::optional<std::vector<Text>> outlets;
  std::string note;
};

struct Policy {
  std::string file;  // empty: the built-in default
  std::string name = "default";
  std::string version = "1";
  std::optional<base::Instant> valid_from;
  Mark valid_from_mark;          // line 0: the file does not say; else what it says may be wrong
  std::string approved_by, why;  // for the ledger: who lets it come into force, and why
  int required = 2;
  Millis reopen_after = std::chrono::hours(24 * 30);
  Millis scan_fresh =
      std::chrono::minutes(2);  // how long a bench's scan binds readings without a stock number
  bool accept_unknown_scope = false;
  // 0 to 1: how much the runs of one instrument on one stone repeat each other.
  base::Decimal repeat_correlation = 1;
  base::Decimal miss_limit = *base::Decimal::parse("0.01");
  base::Decimal false_alarm_limit = *base::Decimal::parse("0.05");
  base::Decimal confidence = *base::Decimal::parse("0.95");  // of intervals
  std::vector<Prior> priors;
  std::optional<DecisionTable> table;           // nothing: the built-in default table
  std::optional<DecisionTable> required_table;  // runs a stone; nothing: `required` for all
  std::optional<DecisionTable> routing;         // nothing: every outlet hears of everything
  // The house's wording, by language and by code.
  std::map<std::string, std::map<std::string, Text>> reasons;
  std::vector<Example> examples;
};

// HTTP: the API and the console.
struct Api {
  std::string host;   // an address, or `localhost`; empty = it is not served
  uint16_t port = 0;
  Mark mark;          // of `listen`
  std::filesystem::path certificate_file;  // empty = plain HTTP, for a loopback address only
  SecretFile key;
  std::vector<std::string> hosts;  // names by which it may be called besides
};

struct Settings {
  std::filesystem::path file;
  std::string site;
  std::string timezone = "UTC";
  std::filesystem::path ledger;
  Millis keep_attempts = std::chrono::hours(24 * 30);  // then they become counts
  Api api;
  std::string log_level = "info";
  std::string language = "en";  // of reasons, as BCP 47 tags them
  std::string market;           // whose words of disclosure are told; empty = none
  std::vector<std::filesystem::path>
      reader_folders;  // searched for manifests, besides the installed ones
  Policy policy;
  std::optional<Policy> next_policy;    // takes over at its valid_from, which it has
  std::optional<Policy> shadow_policy;  // answers too, and is not delivered
  std::vector<Instrument> instruments;
  std::vector<Intake> intakes;
  std::vector<Outlet> outlets;
};

}  // namespace girdle::config
