// The value of Authorization: a bearer token or HTTP Basic from files, or a token that an OAuth 2.0
// endpoint gives for the client's own credentials (RFC 6749 4.4).
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <memory>
#include <string>
#include <string_view>

#include "base/clock.h"
#include "base/result.h"
#include "config/settings.h"
#include "delivery/blanks.h"

namespace girdle::delivery {

class Resolver;

// Of one webhook, for all its connections. All calls come from the executor's one thread. Goes only
// when no value() is under way; executor's context, resolver and clock outlive it.
class Authorization {
 public:
  // Reads the files. The error names the file, or what is wrong with the webhook.
  static base::Result<std::unique_ptr<Authorization>> create(const config::Webhook& webhook,
                                                             boost::asio::any_io_executor executor,
                                                             Resolver& resolver,
                                                             const base::Clock& clock);
  ~Authorization();

  // Empty where the webhook wants none. A token is asked for when there is none, or it will end
  // soon; while one asks, all others wait for what it gets, within the webhook's time-out. After a
  // failure nobody asks for a while, and all get its error. The error is for a person.
  boost::asio::awaitable<base::Result<std::string>> value();

  // The receiver does not take this value (401): where it is still the token in use, the next
  // value() asks for another.
  void refused(std::string_view value);

  // Adds what must not come back in an answer. Tokens that an endpoint gives are not among them:
  // who reads an answer has the one that was sent.
  void add_secrets(Blanks& blanks) const;

 private:
  class Impl;
  explicit Authorization(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace girdle::delivery
