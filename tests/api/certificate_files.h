// A server's certificate and its key as files, for tests.
#pragma once

#include <filesystem>
#include <memory>
#include <string>

typedef struct ssl_ctx_st SSL_CTX;

namespace girdle::api {

class CertificateFiles {
 public:
  // Signed by itself. `names`: of subjectAltName, "DNS:till.shop,IP:127.0.0.1".
  explicit CertificateFiles(const std::string& names);
  ~CertificateFiles();
  CertificateFiles(const CertificateFiles&) = delete;

  const std::filesystem::path& certificate() const { return certificate_; }
  const std::filesystem::path& key() const { return key_; }

 private:
  std::filesystem::path certificate_, key_;
};

// A client that trusts that certificate and no other, up to this version of TLS (0: the newest). `protocols`: of ALPN,
// each with its length before it.
std::shared_ptr<SSL_CTX> tls_client(const CertificateFiles& server, int max_version = 0,
                                    const std::string& protocols = "");

}  // namespace girdle::api
