// The outlets of girdled.yaml. What addresses, secrets, pointers, names and patterns say is read by
// delivery/, whose they are; service/ puts what is wrong with them beside what is wrong here.
#include <map>

#include "base/text.h"
#include "config/parts.h"
#include "config/trees.h"
#include "config/values.h"

namespace girdle::config {
namespace {

constexpr size_t kMostWaits = 100;

class WebhookReader {
 public:
  explicit WebhookReader(const Desk& desk) : desk_(desk), trees_(desk.report) {}

  Webhook read(const Section& section) const {
    Webhook webhook;
    webhook.url = section.text("url");
    webhook.mark = section.mark("url");
    webhook.request = request(section);
    webhook.insecure = section.flag("insecure");
    webhook.addresses = section.texts("addresses");
    webhook.ca_file = desk_.file(section, "ca_file");
    webhook.timeout = section.duration("timeout");
    if (section.has("reference") && section.sound("reference")) {
      webhook.reference = section.text("reference");
      webhook.reference_mark = section.mark("reference");
    }
    if (section.is_map("proxy")) webhook.proxy = proxy(section.section("proxy"));
    read_sender(section, webhook);
    return webhook;
  }

 private:
  Request request(const Section& section) const {
    Request request;
    request.method = section.text("method");
    if (const Node* path = section.node("path")) {
      for (const Node* segment : path->items) request.path.push_back(trees_.leaf(*segment));
    }
    if (section.is_map("query")) request.query = trees_.leaves(*section.node("query"));
    if (section.is_map("headers")) request.headers = trees_.leaves(*section.node("headers"));
    return request;
  }

  // How the receiver knows who sends.
  void read_sender(const Section& section, Webhook& webhook) const {
    webhook.secret = desk_.secret(section, "secret_file");
    webhook.bearer = desk_.secret(section, "bearer_file");
    if (section.is_map("basic")) webhook.basic = basic(section.section("basic"));
    if (section.is_map("oauth")) webhook.oauth = oauth(section.section("oauth"));
    if (section.is_map("certificate")) {
      webhook.certificate = certificate(section.section("certificate"));
    }
    webhook.anonymous = section.flag("anonymous");
    check_sender(section);
    one_authorization(section);
    // Told once is enough.
    if (webhook.bearer.given()) webhook.basic.reset();
    if (webhook.bearer.given() || webhook.basic) webhook.oauth.reset();
  }

  // Nothing of these, and not said to be so, is a slip; both is a contradiction.
  void check_sender(const Section& section) const {
    std::vector<std::string_view> given;
    for (const char* key : {"secret_file", "bearer_file", "basic", "oauth", "certificate"}) {
      if (section.has(key)) given.emplace_back(key);
    }
    if (!section.has("anonymous") || !section.sound("anonymous")) return;
    const bool anonymous = section.flag("anonymous");
    if (anonymous && !given.empty()) {
      desk_.problem(section, "anonymous",
                    "with " + base::listed(given) +
                        " the receiver knows who sends; keep that, or  anonymous: true");
    } else if (!anonymous && given.empty()) {
      desk_.problem(section, "anonymous",
                    "there is neither secret_file, bearer_file, basic, oauth nor certificate; add "
                    "one, or say  anonymous: true  in so many words");
    }
  }

  void one_authorization(const Section& section) const {
    std::string_view first;
    for (const std::string_view key : {"bearer_file", "basic", "oauth"}) {
      if (!section.has(key)) continue;
      if (!first.empty()) {
        desk_.problem(section, key,
                      "a request has one field Authorization, and " + std::string(first) +
                          " (line " + std::to_string(section.mark(first).line) +
                          ") fills it; keep one of the two");
      } else {
        first = key;
      }
    }
  }

  // Of a map that is wrong, or names a secret that cannot be had, nothing: nothing more is to be
  // said of it.
  std::optional<Webhook::Basic> basic(const Section& section) const {
    Webhook::Basic basic{user(section), desk_.secret(section, "password_file")};
    if (!section.sound() || !basic.password.given()) return std::nullopt;
    return basic;
  }

  std::optional<Webhook::OAuth> oauth(const Section& section) const {
    Webhook::OAuth oauth;
    oauth.token_url = section.text("token_url");
    oauth.mark = section.mark("token_url");
    oauth.client_id = section.text("client_id");
    oauth.client_secret = desk_.secret(section, "client_secret_file");
    oauth.scope = section.text("scope");
    oauth.in_body = section.text("client") == "body";
    if (!section.sound() || !oauth.client_secret.given()) return std::nullopt;
    return oauth;
  }

  std::optional<Webhook::Certificate> certificate(const Section& section) const {
    Webhook::Certificate certificate{desk_.file(section, "certificate_file"),
                                     desk_.secret(section, "key_file"),
                                     section.mark()};
    if (!section.sound() || !certificate.key.given()) return std::nullopt;
    if (certificate.certificate_file.empty()) return std::nullopt;
    return certificate;
  }

  std::optional<Webhook::Proxy> proxy(const Section& section) const {
    Webhook::Proxy proxy{section.text("url"), section.mark("url"), user(section),
                         desk_.secret(section, "password_file")};
    const bool lacks_password = section.has("password_file") && !proxy.password.given();
    if (!section.sound() || lacks_password) return std::nullopt;
    return proxy;
  }

  // RFC 7617 2: the first colon ends the name.
  std::string user(const Section& section) const {
    std::string user = section.text("user");
    if (user.find(':') == user.npos) return user;
    desk_.problem(section, "user", "the name of a user has no \":\"; the password is in a file");
    return {};
  }

  const Desk& desk_;
  TreeReader trees_;
};

// The word that says so, or the map's.
Body::Kind cloudevents(const Section& body) {
  constexpr Body::Kind kKinds[] = {Body::Kind::kStructured, Body::Kind::kBinary,
                                   Body::Kind::kBatch};
  return kKinds[body.choice("cloudevents")];
}

void read_csv(const Section& section, Body& body) {
  const std::string delimiter = section.text("delimiter");
  body.delimiter = delimiter == "tab" ? '\t' : delimiter.front();
  body.header = section.flag("header");
}

void read_epcis(const Section& section, Body& body) {
  body.epcis.item = section.located("item");
  if (section.has("location")) body.epcis.location = section.located("location");
  if (section.has("reader")) body.epcis.reader = section.located("reader");
}

// What of the map is not of its kind's shape leaves the default body: nothing more is to be said of
// it. What is wrong inside it leaves stand-ins.
void read_kind(const Section& section, const TreeReader& trees, Body& body) {
  const auto has_map = [&](std::string_view key) {
    return section.is_map(key) && !section.node(key)->entries.empty();
  };
  if (section.has("cloudevents")) {
    body.kind = cloudevents(section);
  } else if (section.has("epcis") && section.sound("epcis")) {
    body.kind = Body::Kind::kEpcis;
    read_epcis(section.section("epcis"), body);
  } else if (const Node* json = section.node("json"); json != nullptr) {
    body.kind = Body::Kind::kJson;
    body.tree = trees.tree(*json);
  } else if (has_map("xml") && section.node("xml")->entries.size() == 1) {
    body.kind = Body::Kind::kXml;
    body.tree = trees.element(*section.node("xml"));
    if (section.has("list")) body.list = section.located("list");
  } else if (has_map("form")) {
    body.kind = Body::Kind::kForm;
    body.fields = trees.leaves(*section.node("form"));
  } else if (has_map("csv")) {
    body.kind = Body::Kind::kCsv;
    body.fields = trees.leaves(*section.node("csv"));
    read_csv(section, body);
  }
}

Body read_body(const Section& outlet, const Desk& desk) {
  Body body;
  body.mark = outlet.mark("body");
  if (outlet.is_map("body")) {
    read_kind(outlet.section("body"), TreeReader(desk.report), body);
  } else if (outlet.text("body") == "webhook") {
    body.kind = Body::Kind::kWebhook;
  }
  return body;
}

class OutletReader {
 public:
  OutletReader(const Desk& desk, const std::vector<Intake>& intakes) : desk_(desk) {
    for (const Intake& intake : intakes) {
      const auto* folder = std::get_if<FolderIntake>(&intake.source);
      if (folder == nullptr || folder->path.empty()) continue;
      folders_.emplace(desk_.files.canonical(folder->path), "intake \"" + intake.name + '"');
    }
  }

  Outlet read(const Section& section) {
    Outlet outlet;
    outlet.name = section.text("name");
    outlet.mark = section.mark();
    name_once(section, outlet.name);
    if (section.is_map("folder")) {
      outlet.folder = folder(section.section("folder"), outlet.name);
    } else {
      outlet.webhook = WebhookReader(desk_).read(section.section("webhook"));
    }
    outlet.body = read_body(section, desk_);
    outlet.whole = section.sound("webhook") && section.sound("folder") && section.sound("body") &&
                   section.has("folder") != section.has("webhook");
    read_batch(section, outlet);
    outlet.only_latest = section.text("outcomes") == "latest";
    read_pace(section, outlet);
    // What goes by two ways at once, or by none, is not to be judged by one of them.
    if (section.has("folder") != section.has("webhook")) check_together(section, outlet);
    return outlet;
  }

 private:
  void name_once(const Section& section, const std::string& name) {
    const auto [first, fresh] = lines_.emplace(name, section.mark("name").line);
    if (fresh || name.empty()) return;
    desk_.problem(section, "name",
                  "the outlet \"" + name + "\" is here already (line " +
                      std::to_string(first->second) + "); each comes once");
  }

  DropFolder folder(const Section& section, const std::string& outlet) {
    DropFolder folder;
    folder.mark = section.mark("path");
    folder.name = section.text("name");
    folder.name_mark = section.mark("name");
    const std::string text = section.text("path");
    if (text.empty()) return folder;
    // Nobody says that it must be there: a share may come back later, and the outcomes wait.
    folder.path = desk_.path(text);
    if (desk_.files.kind(folder.path) != Files::Kind::kMissing) {
      desk_.needs_folder(folder.mark, "path", folder.path);
    }
    // What an intake would read comes back, and two outlets may give two files one name.
    const auto [first, fresh] =
        folders_.emplace(desk_.files.canonical(folder.path), "outlet \"" + outlet + '"');
    if (!fresh) {
      desk_.problem(section, "path",
                    shown(folder.path) + " belongs to the " + first->second +
                        " already; give each outlet a folder of its own");
    }
    return folder;
  }

  void read_pace(const Section& section, Outlet& outlet) const {
    outlet.retry = section.durations("retry");
    if (outlet.retry.size() > kMostWaits) {
      desk_.problem(section, "retry", "at most " + std::to_string(kMostWaits) + " waits");
    }
    outlet.in_flight = outlet.folder ? 1 : static_cast<int>(section.whole("in_flight"));
    outlet.per_minute = static_cast<int>(section.whole("per_minute"));
  }

  static void read_batch(const Section& section, Outlet& outlet) {
    if (!section.is_map("batch")) return;
    const Section batch = section.section("batch");
    if (batch.sound("count")) outlet.batch.count = static_cast<int>(batch.whole("count"));
    outlet.batch.wait = batch.duration("wait");
  }

  void check_together(const Section& section, Outlet& outlet) const {
    const size_t faults = desk_.report.count();
    if (section.sound("body")) fits_its_way(section, outlet);
    if (desk_.report.count() != faults) outlet.whole = false;
    if (outlet.folder && section.has("in_flight")) {
      desk_.problem(section, "in_flight", "a folder takes one file after another; leave it out");
    }
  }

  void fits_its_way(const Section& section, const Outlet& outlet) const {
    if (outlet.folder) return fits_a_folder(outlet);
    if (!section.has("batch") || outlet.body.kind == Body::Kind::kBatch) return;
    desk_.problem(section, "batch",
                  "a webhook takes one outcome a request, unless the receiver asked for  body: { "
                  "cloudevents: batch }; batch goes with that, or with a folder");
  }

  void fits_a_folder(const Outlet& outlet) const {
    if (outlet.body.kind == Body::Kind::kBinary) {
      desk_.report(outlet.body.mark,
                   "body: cloudevents: binary puts half of an event into header fields, which a "
                   "file has not; use structured");
    } else if (outlet.body.kind == Body::Kind::kForm) {
      desk_.report(outlet.body.mark,
                   "body: a form is what a browser sends, and no kind of file; use csv, json or "
                   "xml");
    } else if (outlet.body.kind == Body::Kind::kXml && outlet.batch.count > 1 &&
               outlet.body.list.text.empty()) {
      desk_.report(outlet.body.mark,
                   "body: a file with up to " + std::to_string(outlet.batch.count) +
                       " outcomes needs an element around them; name it beside xml, such as  "
                       "list: screenings");
    }
  }

  const Desk& desk_;
  std::map<std::string, int> lines_;                      // first line by name
  std::map<std::filesystem::path, std::string> folders_;  // whose it is
};

}  // namespace

std::vector<Outlet> read_outlets(const Section& root, const Desk& desk,
                                 const std::vector<Intake>& intakes) {
  std::vector<Outlet> out;
  OutletReader reader(desk, intakes);
  for (const Section& section : root.sections("outlets")) out.push_back(reader.read(section));
  return out;
}

}  // namespace girdle::config
