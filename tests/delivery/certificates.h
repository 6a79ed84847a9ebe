// Certificates for tests, made when they are needed.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

typedef struct evp_pkey_st EVP_PKEY;
typedef struct ssl_ctx_st SSL_CTX;
typedef struct x509_st X509;

namespace girdle::delivery {

// An authority of its own, which is trusted by whoever is given ca_file().
class Certificates {
 public:
  Certificates();
  ~Certificates();

  std::filesystem::path ca_file() const { return ca_file_; }

  struct Server {
    std::string names{};        // subjectAltName, e.g. "DNS:till.example,IP:127.0.0.1"
    int days_from = -1;         // when it begins to be valid, from today
    int days_to = 1;            // and ends
    int max_version = 0;        // of TLS; 0 = the newest
    bool wants_client = false;  // a certificate by the same authority
  };
  // A server's side of TLS with a certificate by this authority. Owned by the caller.
  std::shared_ptr<SSL_CTX> server(const Server& server) const;

  // A client's certificate by this authority, and its private key, as files that go with it.
  struct Client {
    std::filesystem::path certificate_file, key_file;
  };
  Client client(const std::string& name) const;

 private:
  EVP_PKEY* key_;
  X509* certificate_;
  std::filesystem::path ca_file_;
  mutable std::vector<std::filesystem::path> files_;  // removed at the end
};

}  // namespace girdle::delivery
