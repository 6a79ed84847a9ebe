// The outlets of girdled.yaml: what is read, and one thing wrong at a time.
#include <gmock/gmock.h>

#include "small_house.h"

namespace girdle::config {
namespace {

using std::chrono::seconds, std::chrono::minutes, std::chrono::hours;
using testing::ElementsAre;
using testing::IsEmpty;

#define EXPECT_PROBLEM(problems, text) \
  EXPECT_THAT((problems), ElementsAre("/house/girdled.yaml:" text))

std::string house_with(const std::string& lines) {
  return "site: a\nledger: { path: l.db }\noutlets:\n  - name: till\n" + lines;
}

MemoryFiles furnished(const std::string& lines) {
  MemoryFiles files = small_house(house_with(lines));
  files.folder("/house/out").file("/house/c.pem", "").credentials_in("/run/credentials/girdled");
  return files;
}

// Of an outlet with these lines, which begin on line 5 and in column 5.
std::vector<std::string> problems_of(const std::string& lines) {
  return problems_in(furnished(lines));
}

Outlet outlet_of(const std::string& lines) {
  const Loaded loaded = load("/house/girdled.yaml", furnished(lines));
  EXPECT_THAT(formatted(loaded.problems), IsEmpty());
  return loaded.settings.outlets.at(0);
}

constexpr const char* kHook = "    webhook: { url: \"https://h/\", secret_file: s }\n";
constexpr const char* kFolder = "    folder: { path: out }\n";

// Of line 5, in column 29.
std::vector<std::string> problems_of_webhook(const std::string& rest) {
  return problems_of("    webhook: { url: \"https://h/\", " + rest + " }\n");
}
// Of line 6, in column 11.
std::vector<std::string> problems_of_body(const std::string& body, const char* way = kHook) {
  return problems_of(way + ("    body: " + body + "\n"));
}
Body body_of(const std::string& body, const char* way = kHook) {
  return outlet_of(way + ("    body: " + body + "\n")).body;
}
Webhook webhook_of(const std::string& rest) {
  return outlet_of("    webhook: { url: \"https://h/\", " + rest + " }\n").webhook;
}

std::vector<std::string> names(const std::vector<std::pair<Text, Leaf>>& leaves) {
  std::vector<std::string> out;
  for (const auto& [name, leaf] : leaves) out.push_back(name.text);
  return out;
}

// "/a+/b" for what is taken from the event, else the constant.
std::string told(const Leaf& leaf) {
  std::string out;
  for (const Text& pointer : leaf.from) out += (out.empty() ? "" : "+") + pointer.text;
  return leaf.from.empty() ? leaf.constant : out;
}

TEST(Outlets, ReadAWebhookWithItsDefaults) {
  const Outlet outlet =
      settings_with(
          "outlets: [{ name: till, webhook: { url: \"https://t.example/x\", secret_file: s } }]\n")
          .outlets.at(0);
  EXPECT_EQ(outlet.webhook.url, "https://t.example/x");
  EXPECT_EQ(outlet.webhook.mark.column, 41);
  EXPECT_EQ(outlet.webhook.secret.path, "/house/s");
  EXPECT_FALSE(outlet.webhook.secret.is_credential);
  EXPECT_EQ(outlet.webhook.secret.mark.column, 77);
  EXPECT_EQ(outlet.webhook.timeout, seconds(15));
  EXPECT_FALSE(outlet.webhook.insecure || outlet.webhook.anonymous);
  EXPECT_FALSE(outlet.webhook.bearer.given());
  EXPECT_FALSE(outlet.webhook.basic || outlet.webhook.oauth || outlet.webhook.certificate ||
               outlet.webhook.proxy);
  EXPECT_EQ(outlet.webhook.request.method, "POST");
  EXPECT_EQ(outlet.webhook.reference, "-");
  EXPECT_FALSE(outlet.folder);
  EXPECT_EQ(outlet.body.kind, Body::Kind::kStructured);
  EXPECT_EQ(outlet.batch.count, 1);
  EXPECT_FALSE(outlet.only_latest);
  EXPECT_EQ(outlet.in_flight, 8);
  EXPECT_EQ(outlet.per_minute, 0);
  // Standard Webhooks 1.0.0, "deliverability and reliability": its example schedule, as waits.
  EXPECT_THAT(outlet.retry, ElementsAre(seconds(5), minutes(5), minutes(30), hours(2), hours(5),
                                        hours(10), hours(14), hours(20), hours(24)));
}

TEST(Outlets, ReadAWebhookAsItSays) {
  const Outlet outlet = outlet_of(
      "    webhook:\n"
      "      url: https://till.example/items\n"
      "      method: PUT\n"
      "      path: [v1, { from: /data/subject/stock_number }]\n"
      "      query: { shop: quay-street, item: { from: /id, form: unix } }\n"
      "      headers: { x-shop: \"7\" }\n"
      "      secret_file: s\n"
      "      proxy: { url: \"http://proxy.example:3128\", user: girdle, password_file: p }\n"
      "      addresses: [169.254.7.9, \"fe80::9\"]\n"
      "      reference: /id\n"
      "      insecure: true\n"
      "      ca_file: c.pem\n"
      "      timeout: 2s\n"
      "    outcomes: latest\n"
      "    retry: [1s, 2min]\n"
      "    in_flight: 64\n"
      "    per_minute: 60000\n");
  const Webhook& webhook = outlet.webhook;
  EXPECT_EQ(webhook.request.method, "PUT");
  ASSERT_EQ(webhook.request.path.size(), 2u);
  EXPECT_EQ(webhook.request.path[0].constant, "v1");
  EXPECT_EQ(told(webhook.request.path[1]), "/data/subject/stock_number");
  EXPECT_EQ(webhook.request.path[1].mark.line, 8);
  EXPECT_EQ(webhook.request.path[1].mark.column, 18);
  EXPECT_EQ(webhook.request.path[1].from[0].mark.column, 26);
  EXPECT_THAT(names(webhook.request.query), ElementsAre("shop", "item"));
  EXPECT_EQ(webhook.request.query[1].first.mark.column, 35);
  EXPECT_EQ(webhook.request.query[1].second.form, "unix");
  EXPECT_EQ(webhook.request.headers.at(0).second.type, Leaf::Type::kText);
  EXPECT_EQ(webhook.proxy.value().url, "http://proxy.example:3128");
  EXPECT_EQ(webhook.proxy->mark.column, 21);
  EXPECT_EQ(webhook.proxy->user, "girdle");
  EXPECT_EQ(webhook.proxy->password.path, "/house/p");
  ASSERT_EQ(webhook.addresses.size(), 2u);
  EXPECT_EQ(webhook.addresses[1].text, "fe80::9");
  EXPECT_EQ(webhook.addresses[1].mark.column, 32);
  EXPECT_EQ(webhook.reference, "/id");
  EXPECT_EQ(webhook.reference_mark.line, 14);
  EXPECT_TRUE(webhook.insecure);
  EXPECT_EQ(webhook.ca_file, "/house/c.pem");
  EXPECT_EQ(webhook.timeout, seconds(2));
  EXPECT_TRUE(outlet.only_latest);
  EXPECT_THAT(outlet.retry, ElementsAre(seconds(1), minutes(2)));
  EXPECT_EQ(outlet.in_flight, 64);
  EXPECT_EQ(outlet.per_minute, 60000);
}

TEST(Outlets, SayWhatTheyMayHold) {
  const auto with = [](const std::string& webhook, const std::string& rest) {
    return problems_of("    webhook: { url: \"https://h/\", secret_file: s" + webhook + " }\n" +
                       rest);
  };
  EXPECT_PROBLEM(with("", "    in_flight: 65\n"),
                 "6:16: in_flight: it must be a whole number from 1 to 64, not \"65\"");
  EXPECT_PROBLEM(with("", "    per_minute: 0\n"),
                 "6:17: per_minute: it must be a whole number from 1 to 60000, not \"0\"");
  EXPECT_PROBLEM(with("", "    outcomes: last\n"),
                 "6:15: outcomes: it must be every or latest, not \"last\"");
  EXPECT_PROBLEM(
      with("", "    retry: [5s, 30]\n"),
      "6:17: retry: each must be a duration from 1ms to 30d, such as 200ms, 45s, 2min, 8h "
      "or 30d, not \"30\"");
  EXPECT_PROBLEM(with("", "    retry: 5s\n"),
                 "6:12: retry: it must be a list of durations from 1ms to 30d, such as [5s, 30min, "
                 "2h], not \"5s\"");
  EXPECT_PROBLEM(with(", insecure: yes", ""),
                 "5:61: insecure: it must be true or false, not \"yes\"");
  EXPECT_PROBLEM(
      with(", timeout: 1ms", ""),
      "5:60: timeout: it must be a duration from 100ms to 5min, such as 200ms, 45s, 2min, "
      "8h or 30d, not \"1ms\"");
  EXPECT_PROBLEM(with(", ca_file: ca.pem", ""),
                 "5:60: ca_file: the file /house/ca.pem does not exist");
  EXPECT_PROBLEM(with(", method: DELETE", ""),
                 "5:59: method: it must be POST, PUT or PATCH, not \"DELETE\"");
  EXPECT_PROBLEM(with("", "  - { name: till, webhook: { url: \"https://h/\", secret_file: s } }\n"),
                 "6:13: name: the outlet \"till\" is here already (line 4); each comes once");
}

TEST(Outlets, WaitAtMostAHundredTimes) {
  std::string waits = "1s";
  for (int i = 1; i < 101; ++i) waits += ", 1s";
  EXPECT_PROBLEM(problems_of(kHook + ("    retry: [" + waits + "]\n")),
                 "6:12: retry: at most 100 waits");
}

TEST(Outlets, GoToAWebhookOrIntoAFolder) {
  EXPECT_PROBLEM(problems_of(""),
                 "4:5: an outlet needs exactly one of webhook and folder; it has "
                 "none");
  EXPECT_PROBLEM(problems_of(std::string(kHook) + kFolder + "    in_flight: 2\n"),
                 "4:5: an outlet needs exactly one of webhook and folder; it has webhook and "
                 "folder");
}

TEST(Outlets, AreWholeWhereAllIsThereThatTellsWhereAndWhatTheySend) {
  const auto is_whole = [](const std::string& lines) {
    return load("/house/girdled.yaml", furnished(lines)).settings.outlets.at(0).whole;
  };
  EXPECT_TRUE(is_whole(kHook));
  EXPECT_TRUE(is_whole(std::string(kHook) + "    per_minute: none\n"));
  EXPECT_FALSE(is_whole(""));
  EXPECT_FALSE(is_whole(std::string(kHook) + kFolder));
  EXPECT_FALSE(is_whole("    webhook: { url: \"https://h/\" }\n"));
  EXPECT_FALSE(is_whole("    webhook: { url: \"https://h/\", bearer_file: \"credential:\" }\n"));
  EXPECT_FALSE(is_whole(std::string(kHook) + "    body: { csv: { a: { from: a } } }\n"));
  EXPECT_FALSE(is_whole(std::string(kFolder) + "    body: { form: { a: b } }\n"));
  EXPECT_FALSE(is_whole(std::string(kHook) + "    batch: { count: 2 }\n"));
}

// --- who sends

TEST(Webhooks, NameTheirSecretsByFilesAndByCredentials) {
  const Webhook webhook = webhook_of(
      "secret_file: credential:till, basic: { user: girdle, password_file: secrets/p }, "
      "certificate: { certificate_file: c.pem, key_file: \"credential:key.pem\" }");
  EXPECT_TRUE(webhook.secret.is_credential);
  EXPECT_EQ(webhook.secret.path, "/run/credentials/girdled/till");
  EXPECT_EQ(webhook.basic.value().user, "girdle");
  EXPECT_EQ(webhook.basic->password.path, "/house/secrets/p");
  EXPECT_FALSE(webhook.basic->password.is_credential);
  EXPECT_EQ(webhook.certificate.value().certificate_file, "/house/c.pem");
  EXPECT_EQ(webhook.certificate->key.path, "/run/credentials/girdled/key.pem");
  EXPECT_GT(webhook.certificate->mark.line, 0);
  const Webhook oauth = webhook_of(
      "oauth: { token_url: \"https://id.example/t\", client_id: girdle, client_secret_file: c, "
      "scope: a b, client: body }");
  EXPECT_EQ(oauth.oauth.value().token_url, "https://id.example/t");
  EXPECT_EQ(oauth.oauth->mark.column, 55);
  EXPECT_EQ(oauth.oauth->client_id, "girdle");
  EXPECT_EQ(oauth.oauth->client_secret.path, "/house/c");
  EXPECT_EQ(oauth.oauth->scope, "a b");
  EXPECT_TRUE(oauth.oauth->in_body);
  EXPECT_EQ(webhook_of("bearer_file: t").bearer.path, "/house/t");
  EXPECT_TRUE(webhook_of("anonymous: true").anonymous);
}

TEST(Webhooks, ReadCredentialsOnlyWhereSystemdGivesThem) {
  const std::string lines = "    webhook: { url: \"https://h/\", bearer_file: credential:a }\n";
  EXPECT_PROBLEM(problems_in(small_house(house_with(lines))),
                 "5:48: bearer_file: credentials come from systemd, to its services: "
                 "$CREDENTIALS_DIRECTORY is not set here; set it to their folder, or name a file");
  EXPECT_PROBLEM(problems_of_webhook("bearer_file: credential:../a"),
                 "5:48: bearer_file: the name of a credential is that of a file, without \"/\", "
                 "not \"../a\"");
  EXPECT_PROBLEM(problems_of_webhook("bearer_file: \"credential:\""),
                 "5:48: bearer_file: the name of a credential is that of a file, without \"/\", "
                 "not \"\"");
  EXPECT_PROBLEM(problems_of_webhook("bearer_file: credential:.."),
                 "5:48: bearer_file: the name of a credential is that of a file, without \"/\", "
                 "not \"..\"");
  EXPECT_PROBLEM(problems_of_webhook("bearer_file: [a]"),
                 "5:48: bearer_file: it must be the path of a file, or credential:NAME for a "
                 "credential of systemd, not a list of 1");
  EXPECT_EQ(webhook_of("bearer_file: ./credential:a").bearer.path, "/house/credential:a");
}

TEST(Webhooks, AreAnonymousOnlyInSoManyWords) {
  EXPECT_PROBLEM(problems_of("    webhook: { url: \"https://h/\" }\n"),
                 "5:14: webhook needs at least one of secret_file, bearer_file, basic, oauth, "
                 "certificate and anonymous; the receiver has to know who sends; where it cannot, "
                 "say  anonymous: true  in so many words");
  EXPECT_PROBLEM(problems_of_webhook("anonymous: false"),
                 "5:46: anonymous: there is neither secret_file, bearer_file, basic, oauth nor "
                 "certificate; add one, or say  anonymous: true  in so many words");
  EXPECT_PROBLEM(problems_of_webhook("anonymous: true, secret_file: s, bearer_file: t"),
                 "5:46: anonymous: with secret_file and bearer_file the receiver knows who sends; "
                 "keep that, or  anonymous: true");
  EXPECT_THAT(problems_of_webhook("anonymous: false, secret_file: s"), IsEmpty());
}

TEST(Webhooks, HaveOneAuthorization) {
  EXPECT_PROBLEM(
      problems_of_webhook("secret_file: s, bearer_file: t, basic: { user: u, password_file: p }"),
      "5:74: basic: a request has one field Authorization, and bearer_file (line 5) fills it; keep "
      "one of the two");
  EXPECT_THAT(problems_of_webhook("secret_file: s, basic: { user: u, password_file: p }, "
                                  "certificate: { certificate_file: c.pem, key_file: k }"),
              IsEmpty());
}

TEST(Webhooks, NeedAllThatBelongsTogether) {
  EXPECT_PROBLEM(problems_of_webhook("basic: { user: u }"),
                 "5:42: basic needs the key \"password_file\" (The file (mode 600) with the "
                 "password)");
  // RFC 7617 2: "a user-id containing a colon character is invalid".
  EXPECT_PROBLEM(problems_of_webhook("basic: { user: \"u:p\", password_file: p }"),
                 "5:50: user: the name of a user has no \":\"; the password is in a file");
  EXPECT_PROBLEM(problems_of_webhook("certificate: { certificate_file: x.pem, key_file: k }"),
                 "5:68: certificate_file: the file /house/x.pem does not exist");
  EXPECT_PROBLEM(problems_of_webhook("anonymous: true, proxy: { url: u, user: a }"),
                 "5:69: user: it goes with the key \"password_file\", which is not there");
  EXPECT_PROBLEM(problems_of_webhook("anonymous: true, proxy: { url: u, password_file: a }"),
                 "5:69: password_file: it goes with the key \"user\", which is not there");
  EXPECT_PROBLEM(problems_of_webhook("oauth: { token_url: u, client_id: a, client_secret_file: c, "
                                     "client: header, grant: password }"),
                 "5:111: oauth has no key \"grant\"; it has token_url, client_id, "
                 "client_secret_file, scope and client");
}

TEST(Webhooks, TakeAddressesAsNumbersOnly) {
  EXPECT_PROBLEM(problems_of_webhook("anonymous: true, addresses: [127.1]"),
                 "5:64: addresses: each must be an IP address, such as 169.254.7.9 or \"fe80::9\", "
                 "not \"127.1\"");
  EXPECT_PROBLEM(problems_of_webhook("anonymous: true, addresses: metadata"),
                 "5:63: addresses: it must be a list of IP addresses, such as [169.254.7.9, "
                 "\"fe80::9\"], not \"metadata\"");
}

TEST(Webhooks, LeaveOutWhatIsWrong) {
  const auto wrong = [](const std::string& rest) {
    return load("/house/girdled.yaml",
                furnished("    webhook: { url: \"https://h/\", " + rest + " }\n"))
        .settings.outlets.at(0)
        .webhook;
  };
  EXPECT_FALSE(wrong("basic: { user: u }").basic);
  EXPECT_FALSE(wrong("basic: { user: u, password_file: credential:a/b }").basic);
  EXPECT_FALSE(wrong("oauth: { client_id: a }").oauth);
  EXPECT_FALSE(wrong("certificate: { certificate_file: none, key_file: k }").certificate);
  EXPECT_FALSE(wrong("proxy: { url: u, user: a }").proxy);
  EXPECT_EQ(wrong("ca_file: none").ca_file, "");
  EXPECT_FALSE(wrong("secret_file: \"credential:\"").secret.given());
  EXPECT_EQ(wrong("reference: id").reference, "-");
}

// --- values

TEST(MessageValues, TakeEverythingFromTheEventAsTheySay) {
  const Leaf leaf =
      body_of(
          "{ csv: { item: { from: [/data/a, /data/b], join: \"-\", words: { natural: "
          "N, none: \"\" }, default: \"?\", decimal: \",\", form: \"%d.%m.%Y\", zone: "
          "Europe/Brussels, as: text } } }")
          .fields.at(0)
          .second;
  EXPECT_EQ(told(leaf), "/data/a+/data/b");
  EXPECT_EQ(leaf.mark.column, 26);
  EXPECT_EQ(leaf.from[1].mark.column, 44);
  EXPECT_EQ(leaf.join, "-");
  ASSERT_EQ(leaf.words.size(), 2u);
  EXPECT_EQ(leaf.words[0].first.text, "natural");
  EXPECT_EQ(leaf.words[0].second.text, "N");
  EXPECT_EQ(leaf.words[1].second.text, "");
  EXPECT_TRUE(leaf.has_default);
  EXPECT_EQ(leaf.default_value.text, "?");
  EXPECT_GT(leaf.default_value.mark.column, 90);
  EXPECT_EQ(leaf.decimal_mark, ',');
  EXPECT_EQ(leaf.form, "%d.%m.%Y");
  EXPECT_EQ(leaf.zone, "Europe/Brussels");
  EXPECT_EQ(leaf.type, Leaf::Type::kText);
}

TEST(MessageValues, AreWhatTheySayAndConstantsWhatTheyLookLike) {
  const auto type_of = [](const std::string& leaf) {
    return body_of("{ csv: { a: " + leaf + " } }").fields.at(0).second.type;
  };
  using Type = Leaf::Type;
  EXPECT_EQ(type_of("{ from: /a }"), Type::kAsItIs);
  EXPECT_EQ(type_of("{ from: /a, as: number }"), Type::kNumber);
  EXPECT_EQ(type_of("{ from: /a, as: flag, default: false }"), Type::kFlag);
  EXPECT_EQ(type_of("{ value: 7 }"), Type::kNumber);
  EXPECT_EQ(type_of("{ value: \"7\" }"), Type::kText);
  EXPECT_EQ(type_of("{ value: 7, as: text }"), Type::kText);
  EXPECT_EQ(type_of("{ value: \"7\", as: number }"), Type::kNumber);
  EXPECT_EQ(type_of("true"), Type::kFlag);
  EXPECT_EQ(type_of("'true'"), Type::kText);
}

TEST(MessageValues, SayWhatTheyMayHold) {
  const auto with = [](const std::string& leaf) {
    return problems_of_body("{ csv: { a: " + leaf + " } }");
  };
  EXPECT_PROBLEM(with("{ from: /a, value: b }"),
                 "6:23: a value needs exactly one of from and value; it has from and value");
  EXPECT_PROBLEM(with("{ from: /a, word: { a: b } }"),
                 "6:35: a value has no key \"word\"; did you mean \"words\"?");
  EXPECT_PROBLEM(with("{ from: data/a }"),
                 "6:31: from: a JSON Pointer begins with \"/\": \"/data/a\", not \"data/a\"");
  EXPECT_PROBLEM(with("{ from: data.a }"),
                 "6:31: from: it must be a JSON Pointer such as /data/finding, in which ~1 stands "
                 "for a \"/\" of a name and ~0 for a \"~\", or a list of one to eight of them, not "
                 "\"data.a\"");
  EXPECT_PROBLEM(with("{ from: [/a, /b~2] }"),
                 "6:36: from: each must be a JSON Pointer such as /data/finding, in which ~1 "
                 "stands for a \"/\" of a name and ~0 for a \"~\", not \"/b~2\"");
  EXPECT_PROBLEM(with("{ from: [] }"),
                 "6:31: from: it must be a JSON Pointer such as /data/finding, in which ~1 stands "
                 "for a \"/\" of a name and ~0 for a \"~\", or a list of one to eight of them, not "
                 "an empty list");
  EXPECT_PROBLEM(with("{ from: /a, join: \"-\" }"),
                 "6:41: join: it stands between several, and from names one");
  EXPECT_PROBLEM(with("{ value: a, default: b }"),
                 "6:35: default: it goes with the key \"from\", which is not there");
  EXPECT_PROBLEM(with("{ from: /a, zone: UTC }"),
                 "6:35: zone: it goes with the key \"form\", which is not there");
  EXPECT_PROBLEM(with("{ from: /a, default: ~ }"),
                 "6:44: default: it must be a text, a number, true or false, not ~");
  EXPECT_PROBLEM(with("{ from: /a, words: {} }"),
                 "6:42: words: it must be a map of at least one text, not a map");
  EXPECT_PROBLEM(with("{ from: /a, words: { a: [b] } }"),
                 "6:47: words: \"a\" must have a text, not a list of 1");
  EXPECT_PROBLEM(with("{ from: /a, as: bool }"),
                 "6:39: as: it must be text, number or flag, not \"bool\"");
  EXPECT_PROBLEM(with("{ from: /a, decimal: \";\" }"),
                 "6:44: decimal: it must be \".\" or \",\", not \";\"");
  EXPECT_PROBLEM(with("[/a]"),
                 "6:23: csv: \"a\" must be a constant, or a map with from, not a list of 1");
  EXPECT_PROBLEM(with("~"),
                 "6:23: csv: \"a\" must be a constant, or a map with from, not ~; write \"\" for "
                 "an empty text");
}

TEST(MessageValues, MayBeLeftToAPersonToFillIn) {
  EXPECT_PROBLEM(problems_of_body("{ csv: { a: FILL_IN } }"),
                 "6:23: csv: still to be filled in: \"a\"");
  EXPECT_PROBLEM(problems_of_body("{ csv: { a: { from: FILL_IN } } }"),
                 "6:31: from: still to be filled in: a JSON Pointer such as /data/finding, in "
                 "which ~1 stands for a \"/\" of a name and ~0 for a \"~\", or a list of one to "
                 "eight of them");
  EXPECT_PROBLEM(problems_of_body("{ csv: { a: { from: /a, words: { natural: FILL_IN } } } }"),
                 "6:53: words: what \"natural\" is called there is still to be filled in");
  EXPECT_PROBLEM(problems_of_body("{ json: { a: [FILL_IN] } }"),
                 "6:25: json: still to be filled in: JSON of your own: constants, values, maps and "
                 "lists");
}

TEST(MessageValues, ThatAreWrongLeaveAStandInWithoutAPlace) {
  const auto fields = load("/house/girdled.yaml",
                           furnished(std::string(kHook) +
                                     "    body: { csv: { a: { from: a }, b: { from: /b } } }\n"))
                          .settings.outlets.at(0)
                          .body.fields;
  ASSERT_EQ(fields.size(), 2u);
  EXPECT_EQ(fields[0].first.text, "a");
  EXPECT_EQ(fields[0].second.mark.line, 0);
  EXPECT_EQ(told(fields[0].second), "-");
  EXPECT_EQ(told(fields[1].second), "/b");
}

// --- trees

const Tree& member_of(const Tree& tree, size_t at) { return std::get<1>(tree.value).at(at).second; }

std::string shape(const Tree& tree) {
  if (const auto* leaf = std::get_if<Leaf>(&tree.value)) {
    constexpr const char* kTypes[] = {"text", "number", "flag", "null", "as it is"};
    return leaf->from.empty()
               ? std::string(kTypes[static_cast<size_t>(leaf->type)]) + " " + leaf->constant
               : "from " + told(*leaf);
  }
  std::string out;
  if (const auto* items = std::get_if<std::vector<Tree>>(&tree.value)) {
    for (const Tree& item : *items) out += (out.empty() ? "" : ", ") + shape(item);
    return '[' + out + ']';
  }
  for (const auto& [name, member] : std::get<1>(tree.value)) {
    out += (out.empty() ? "" : ", ") + name.text + ": " + shape(member);
  }
  return '{' + out + '}';
}

TEST(Trees, TellConstantsApartAsYamlWritesThem) {
  // The core schema of YAML 1.2.2 (10.3.2), without its other spellings of numbers and flags: a
  // number is what JSON calls one (RFC 8259 6).
  const Body body = body_of(
      "\n"
      "      json:\n"
      "        a: true\n"
      "        b: 'true'\n"
      "        c: -1.50e3\n"
      "        d: \"7\"\n"
      "        e: 0117\n"
      "        f: ~\n"
      "        g: null\n"
      "        h:\n"
      "        i: True\n"
      "        j: .5\n"
      "        k: \"\"\n"
      "        l: [1, [x], {}]\n"
      "        m: 0x1F\n"
      "        n: |\n"
      "          12\n");
  EXPECT_EQ(body.kind, Body::Kind::kJson);
  EXPECT_EQ(shape(body.tree),
            "{a: flag true, b: text true, c: number -1.50e3, d: text 7, e: text 0117, f: null , "
            "g: null , h: null , i: text True, j: text .5, k: text , l: [number 1, [text x], {}], "
            "m: text 0x1F, n: text 12\n}");
  EXPECT_EQ(body.mark.line, 7);
  EXPECT_EQ(member_of(body.tree, 3).mark.line, 11);
  EXPECT_EQ(member_of(body.tree, 3).mark.column, 12);
  // What is left out stands at its name.
  EXPECT_EQ(member_of(body.tree, 7).mark.line, 15);
  EXPECT_EQ(std::get<Leaf>(member_of(body.tree, 7).value).mark.line, 15);
  EXPECT_EQ(std::get<1>(body.tree.value).at(7).first.mark.line, 15);
}

TEST(Trees, HaveMapsThatAreValuesAndMapsThatAreObjects) {
  EXPECT_EQ(
      shape(body_of("{ json: { a: { from: /x }, b: { value: 1, as: text }, c: { words: { x: y "
                    "} }, d: { object: { from: /x, value: { object: 1, b: 2 } } } } }")
                .tree),
      "{a: from /x, b: text 1, c: {words: {x: text y}}, d: {from: text /x, value: {object: "
      "number 1, b: number 2}}}");
  EXPECT_EQ(shape(body_of("{ json: [{ from: /x }] }").tree), "[from /x]");
  EXPECT_EQ(shape(body_of("{ json: { from: \"\" } }").tree), "from ");
  EXPECT_EQ(shape(body_of("{ json: { object: { object: { object: { a: x } } } } }").tree),
            "{object: {a: text x}}");
}

TEST(Trees, SayWhatTheyMayHold) {
  EXPECT_PROBLEM(problems_of_body("{ json: { a: { from: /x, word: { a: b } } } }"),
                 "6:36: a value has no key \"word\"; did you mean \"words\"?");
  EXPECT_PROBLEM(problems_of_body("{ json: { price: { value: 12, currency: EUR } } }"),
                 "6:41: a value has no key \"currency\"; it has from, join, value, words, default, "
                 "decimal, form, zone and as; members called from or value stand with the others "
                 "under object: { object: { value: … } }");
  EXPECT_PROBLEM(problems_of_body("{ json: [[{ b: { from: x } }]] }"),
                 "6:34: from: it must be a JSON Pointer such as /data/finding, in which ~1 stands "
                 "for a \"/\" of a name and ~0 for a \"~\", or a list of one to eight of them, not "
                 "\"x\"");
  EXPECT_PROBLEM(problems_of_body("{ json: { a: { object: x } } }"),
                 "6:34: object: it must be a map of members, not \"x\"; for a member of that name "
                 "write { object: { object: … } }");
  EXPECT_PROBLEM(problems_of_body("{ json: 5 }"),
                 "6:19: json: it must be a map, a value with from, or a list, not \"5\"");
  EXPECT_PROBLEM(problems_of_body("{ json: }"),
                 "6:13: json: it must be a map, a value with from, or a list, not nothing");
}

TEST(Trees, HaveOneRootElementInXml) {
  const Body body = body_of("{ xml: { from: { item: { from: /x } } }, list: all }");
  EXPECT_EQ(body.kind, Body::Kind::kXml);
  EXPECT_EQ(shape(body.tree), "{from: {item: from /x}}");
  EXPECT_EQ(body.list.text, "all");
  EXPECT_EQ(body.list.mark.column, 58);
  EXPECT_EQ(shape(body_of("{ xml: { object: { a: 1 } } }").tree), "{object: {a: number 1}}");
  EXPECT_PROBLEM(problems_of_body("{ xml: { a: 1, b: 2 } }"),
                 "6:18: xml: it must be a map with one key, the root element, and it has 2");
  EXPECT_PROBLEM(problems_of_body("{ xml: {} }"),
                 "6:18: xml: it must be a map with one key, the root element, and it has 0");
  EXPECT_PROBLEM(problems_of_body("{ xml: { a: [1, 2] } }"),
                 "6:23: xml: the root element comes once, and \"a\" has a list of 2; put the list "
                 "under a name inside it");
  EXPECT_PROBLEM(problems_of_body("{ xml: a }"),
                 "6:18: xml: it must be a map with one key, the root element, not \"a\"");
}

// --- bodies

TEST(Bodies, AreAWordOrAMap) {
  using Kind = Body::Kind;
  EXPECT_EQ(body_of("cloudevents").kind, Kind::kStructured);
  EXPECT_EQ(body_of("webhook").kind, Kind::kWebhook);
  EXPECT_EQ(body_of("webhook").mark.column, 11);
  EXPECT_EQ(body_of("{ cloudevents: structured }").kind, Kind::kStructured);
  EXPECT_EQ(body_of("{ cloudevents: binary }").kind, Kind::kBinary);
  EXPECT_EQ(body_of("{ cloudevents: batch }").kind, Kind::kBatch);
  const Body form = body_of("{ form: { item: { from: /x }, result: ok } }");
  EXPECT_EQ(form.kind, Kind::kForm);
  EXPECT_THAT(names(form.fields), ElementsAre("item", "result"));
  const Body csv = body_of("{ csv: { item: { from: /x } } }");
  EXPECT_EQ(csv.kind, Kind::kCsv);
  EXPECT_EQ(csv.delimiter, ',');
  EXPECT_TRUE(csv.header);
  EXPECT_FALSE(body_of("{ csv: { item: x }, header: false }").header);
  EXPECT_EQ(body_of("{ csv: { item: x }, delimiter: tab }").delimiter, '\t');
  EXPECT_EQ(body_of("{ csv: { item: x }, delimiter: \";\" }").delimiter, ';');
}

TEST(Bodies, SayUrisOfEpcis) {
  const Body body = body_of(
      "{ epcis: { item: \"https://id.example/s/{stock_number}\", location: "
      "\"https://id.example/q\", "
      "reader: \"https://id.example/i/{instrument}\" } }");
  EXPECT_EQ(body.kind, Body::Kind::kEpcis);
  EXPECT_EQ(body.epcis.item.text, "https://id.example/s/{stock_number}");
  EXPECT_EQ(body.epcis.item.mark.column, 28);
  EXPECT_EQ(body.epcis.location.text, "https://id.example/q");
  EXPECT_EQ(body.epcis.reader.text, "https://id.example/i/{instrument}");
  EXPECT_EQ(body_of("{ epcis: { item: \"x{stock_number}\" } }").epcis.location.text, "");
  EXPECT_PROBLEM(problems_of_body("{ epcis: { location: x } }"),
                 "6:20: epcis needs the key \"item\" (The URI of a stone or piece: "
                 "`{stock_number}` in it stands for the stock number)");
}

TEST(Bodies, SayWhatTheyMayHold) {
  EXPECT_PROBLEM(problems_of_body("csv"),
                 "6:11: body: it must be cloudevents or webhook, or a map, not \"csv\"; json, xml, "
                 "form, csv and epcis begin a map, such as  body: { csv: … }");
  EXPECT_PROBLEM(problems_of_body("{ csv: { a: b }, form: { a: b } }"),
                 "6:11: body needs exactly one of cloudevents, epcis, json, xml, form and csv; it "
                 "has form and csv");
  EXPECT_PROBLEM(problems_of_body("{ cloudevents: struct }"),
                 "6:26: cloudevents: it must be structured, binary or batch, not \"struct\"");
  EXPECT_PROBLEM(problems_of_body("{ json: { a: b }, delimiter: \";\" }"),
                 "6:29: delimiter: it goes with the key \"csv\", which is not there");
  EXPECT_PROBLEM(problems_of_body("{ csv: { a: b }, list: all }"),
                 "6:28: list: it goes with the key \"xml\", which is not there");
  EXPECT_PROBLEM(problems_of_body("{ csv: { a: b }, delimiter: \":\" }"),
                 "6:39: delimiter: it must be \",\", \";\", \"|\" or tab, not \":\"");
  EXPECT_PROBLEM(problems_of_body("{ csv: {} }"),
                 "6:18: csv: it must be a map of at least one name and its value, such as { item: "
                 "{ from: /subject } }, not a map");
  EXPECT_PROBLEM(problems_of_body("{ form: { \"\": b } }"), "6:21: form: a name must not be empty");
}

// --- folders and batches

TEST(Folders, ReadAsTheySay) {
  const Outlet outlet = outlet_of(
      "    folder: { path: out, name: \"s-{id}.csv\" }\n"
      "    body: { csv: { item: { from: /x } } }\n"
      "    batch: { count: 100, wait: 5min }\n");
  EXPECT_EQ(outlet.folder.value().path, "/house/out");
  EXPECT_EQ(outlet.folder->mark.column, 21);
  EXPECT_EQ(outlet.folder->name, "s-{id}.csv");
  EXPECT_EQ(outlet.folder->name_mark.column, 32);
  EXPECT_EQ(outlet.batch.count, 100);
  EXPECT_EQ(outlet.batch.wait, minutes(5));
  EXPECT_EQ(outlet.in_flight, 1);
  EXPECT_EQ(outlet_of(kFolder).folder.value().name, "");
  EXPECT_EQ(outlet_of(std::string(kFolder) + "    batch: { count: 10000 }\n").batch.wait,
            seconds(0));
}

TEST(Folders, TakeWhatAFileCanHold) {
  EXPECT_PROBLEM(problems_of_body("{ cloudevents: binary }", kFolder),
                 "6:11: body: cloudevents: binary puts half of an event into header fields, which "
                 "a file has not; use structured");
  EXPECT_PROBLEM(problems_of_body("{ form: { a: b } }", kFolder),
                 "6:11: body: a form is what a browser sends, and no kind of file; use csv, json "
                 "or xml");
  for (const char* body : {"cloudevents", "webhook", "{ cloudevents: batch }", "{ json: { a: b } }",
                           "{ xml: { a: b } }", "{ csv: { a: b } }", "{ epcis: { item: x } }"}) {
    EXPECT_THAT(problems_of_body(body, kFolder), IsEmpty()) << body;
  }
  EXPECT_PROBLEM(problems_of(std::string(kFolder) + "    in_flight: 1\n"),
                 "6:16: in_flight: a folder takes one file after another; leave it out");
  EXPECT_PROBLEM(problems_of("    folder: { path: out, method: PUT }\n"),
                 "5:26: folder has no key \"method\"; it has path and name");
}

TEST(Folders, AreThereAndOfOneUse) {
  // A share may come back later.
  EXPECT_THAT(problems_of("    folder: { path: none }\n"), IsEmpty());
  EXPECT_PROBLEM(problems_of("    folder: { path: c.pem }\n"),
                 "5:21: path: /house/c.pem is not a folder");
  EXPECT_PROBLEM(
      problems_of(std::string(kFolder) + "  - { name: b, folder: { path: ./in/../out } }\n"),
      "6:32: path: /house/out belongs to the outlet \"till\" already; give each outlet a folder of "
      "its own");
  EXPECT_PROBLEM(
      problems_of("    folder: { path: in }\nintakes:\n  - { name: a, folder: { path: in }, "
                  "reader: r, mapping: m.yaml }\n"),
      "5:21: path: /house/in belongs to the intake \"a\" already; give each outlet a folder of its "
      "own");
}

TEST(Batches, AreForFoldersAndForBatchesOfCloudEvents) {
  const Outlet outlet = outlet_of(std::string(kHook) +
                                  "    body: { cloudevents: batch }\n    batch: { count: 50 }\n");
  EXPECT_EQ(outlet.batch.count, 50);
  EXPECT_PROBLEM(problems_of(std::string(kHook) + "    batch: { count: 50 }\n"),
                 "6:12: batch: a webhook takes one outcome a request, unless the receiver asked "
                 "for  body: { cloudevents: batch }; batch goes with that, or with a folder");
  EXPECT_PROBLEM(problems_of(std::string(kFolder) + "    batch: { wait: 5min }\n"),
                 "6:12: batch needs the key \"count\" (At most so many)");
  EXPECT_PROBLEM(problems_of(std::string(kFolder) + "    batch: { count: 10001 }\n"),
                 "6:21: count: it must be a whole number from 1 to 10000, not \"10001\"");
}

TEST(Batches, NeedAnElementAroundSeveralInXml) {
  const std::string xml = std::string(kFolder) + "    body: { xml: { a: b } }\n";
  EXPECT_PROBLEM(problems_of(xml + "    batch: { count: 2 }\n"),
                 "6:11: body: a file with up to 2 outcomes needs an element around them; name it "
                 "beside xml, such as  list: screenings");
  EXPECT_THAT(problems_of(xml + "    batch: { count: 1 }\n"), IsEmpty());
  EXPECT_THAT(problems_of(std::string(kFolder) +
                          "    body: { xml: { a: b }, list: c }\n    batch: { count: 2 }\n"),
              IsEmpty());
}

TEST(Outlets, SayNothingOfWhatRestsOnAWrongPart) {
  EXPECT_PROBLEM(problems_of(std::string(kFolder) +
                             "    body: { cloudevents: binery }\n    batch: { count: 5 }\n"),
                 "6:26: cloudevents: it must be structured, binary or batch, not \"binery\"; did "
                 "you mean \"binary\"?");
  EXPECT_PROBLEM(problems_of(std::string(kHook) + "    body: jsn\n    batch: { count: 5 }\n"),
                 "6:11: body: it must be cloudevents or webhook, or a map, not \"jsn\"; json, xml, "
                 "form, csv and epcis begin a map, such as  body: { csv: … }");
  EXPECT_PROBLEM(problems_of("    webhook: none\n"),
                 "5:14: webhook: it must be a map of keys and values, not \"none\"");
}

}  // namespace
}  // namespace girdle::config
