// Posts to a webhook as girdled does, for tests with other people's servers. Arguments are
// KEY=VALUE, as in the configuration where it has such a key; `times=3` posts so often on one
// connection, `everywhere=127.0.0.1` is where each name leads. Prints a line a post: the answer's
// status and, behind it, what is kept of it; or why there is none.
#include <iostream>
#include <map>
#include <string>

#include "base/clock.h"
#include "delivery/answer_reading.h"
#include "delivery/authorization.h"
#include "delivery/client_runner.h"
#include "delivery/http_client.h"
#include "delivery/resolver.h"

namespace girdle::delivery {
namespace {

using Arguments = std::map<std::string, std::string>;

config::SecretFile secret(const std::string& path) {
  config::SecretFile file;
  file.path = path;
  return file;
}

config::Webhook webhook_of(Arguments& given) {
  config::Webhook webhook;
  webhook.url = given["url"];
  webhook.insecure = given.contains("insecure");
  webhook.ca_file = given["ca_file"];
  webhook.timeout = std::chrono::seconds(10);
  webhook.bearer = secret(given["bearer_file"]);
  if (given.contains("user")) webhook.basic = {given["user"], secret(given["password_file"])};
  if (given.contains("certificate_file")) {
    webhook.certificate = {given["certificate_file"], secret(given["key_file"]), {}};
  }
  if (given.contains("proxy")) {
    webhook.proxy = {given["proxy"], {}, given["proxy_user"], secret(given["proxy_password_file"])};
  }
  if (given.contains("token_url")) {
    webhook.oauth.emplace();
    webhook.oauth->token_url = given["token_url"];
    webhook.oauth->client_id = given["client_id"];
    webhook.oauth->client_secret = secret(given["client_secret_file"]);
  }
  return webhook;
}

std::string request(const Url& url, const std::string& authorization) {
  std::string text = "POST " + url.target + " HTTP/1.1\r\nhost: " + url.authority + "\r\n";
  if (!authorization.empty()) text += "authorization: " + authorization + "\r\n";
  return text + "content-type: application/json\r\ncontent-length: 2\r\n\r\n{}";
}

class Poster {
 public:
  explicit Poster(Arguments given)
      : given_(std::move(given)),
        resolver_(io_.get_executor(), {},
                  [this](const std::string& name) { return look_up(name); }),
        webhook_(webhook_of(given_)) {}

  // False where the settings are wrong.
  bool post() {
    auto target = HttpTarget::create(webhook_);
    auto authorization = Authorization::create(webhook_, io_.get_executor(), resolver_, clock_);
    auto reader = AnswerReader::create(given_.contains("reference") ? given_["reference"] : "-");
    if (!target || !authorization || !reader) {
      std::cerr << (target ? "" : target.error().text) << "\n"
                << (authorization ? "" : authorization.error().text) << "\n"
                << (reader ? "" : reader.error().text) << "\n";
      return false;
    }
    HttpConnection connection(io_.get_executor(), **target, resolver_);
    const int times = given_.contains("times") ? std::stoi(given_["times"]) : 1;
    for (int i = 0; i < times; ++i) {
      std::cout << once(**target, **authorization, connection, *reader) << std::endl;
    }
    return true;
  }

 private:
  base::Result<Resolver::Addresses> look_up(const std::string& name) {
    if (!given_.contains("everywhere")) return Resolver::system_lookup(name);
    return Resolver::Addresses{boost::asio::ip::make_address(given_["everywhere"])};
  }

  std::string once(const HttpTarget& target, Authorization& authorization,
                   HttpConnection& connection, AnswerReader& reader) {
    const auto value = run(io_, authorization.value());
    if (!value) return "none: " + value.error().text;
    const std::string bytes = request(target.url(), *value);
    const auto answer = run(io_, connection.post(bytes));
    if (!answer) return "none: " + answer.error().text;
    if (answer->status == 401) authorization.refused(*value);
    const ReadAnswer read = reader.read(*answer, *value);
    return std::to_string(answer->status) + " " + read.reference + "|" + read.problem + "|" +
           read.first_bytes;
  }

  Arguments given_;
  base::SystemClock clock_;
  boost::asio::io_context io_;
  Resolver resolver_;
  config::Webhook webhook_;
};

}  // namespace
}  // namespace girdle::delivery

int main(int count, char** arguments) {
  girdle::delivery::Arguments given;
  for (int i = 1; i < count; ++i) {
    const std::string argument = arguments[i];
    const size_t equals = argument.find('=');
    if (equals == std::string::npos) return 3;
    given[argument.substr(0, equals)] = argument.substr(equals + 1);
  }
  return girdle::delivery::Poster(given).post() ? 0 : 1;
}
