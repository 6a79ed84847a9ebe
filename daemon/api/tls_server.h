// The server's side of TLS: its certificate, and the names that it vouches for.
#pragma once

#include <boost/asio/ssl/context.hpp>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "base/result.h"

namespace girdle::api {

// TLS 1.2 or newer, HTTP/1.1 only. Outlives its streams.
class TlsServer {
 public:
  // PEM. Errors name the file: it cannot be read, it is none, the key is another certificate's, or others than its
  // owner may read the key.
  static base::Result<std::unique_ptr<TlsServer>> create(const std::filesystem::path& certificate_file,
                                                         const std::filesystem::path& key_file);

  boost::asio::ssl::context& context() { return context_; }
  // Of subjectAltName: names in small letters, `*.` included, and addresses (IPv6 in brackets).
  const std::vector<std::string>& names() const { return names_; }

 private:
  TlsServer();
  base::Result<void> load(const std::filesystem::path& certificate_file, const std::filesystem::path& key_file);
  void read_names();

  boost::asio::ssl::context context_;
  std::vector<std::string> names_;
};

}  // namespace girdle::api
