#include "delivery/certificates.h"

#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cstdio>
#include <cstdlib>

#include "gtest/gtest.h"

namespace girdle::delivery {
namespace {

void must(bool done) {
  if (!done) std::abort();
}

void add_extension(X509* certificate, X509* issuer, int kind, const std::string& value) {
  X509V3_CTX context;
  X509V3_set_ctx(&context, issuer, certificate, nullptr, nullptr, 0);
  X509_EXTENSION* const extension = X509V3_EXT_conf_nid(nullptr, &context, kind, value.c_str());
  must(extension != nullptr && X509_add_ext(certificate, extension, -1) == 1);
  X509_EXTENSION_free(extension);
}

X509* make_certificate(EVP_PKEY* key, const std::string& name, int days_from, int days_to) {
  static std::atomic<long> serial = 1;
  constexpr long kDay = 24 * 60 * 60;
  X509* const certificate = X509_new();
  must(certificate != nullptr && X509_set_version(certificate, X509_VERSION_3) == 1);
  ASN1_INTEGER_set(X509_get_serialNumber(certificate), serial++);
  X509_gmtime_adj(X509_getm_notBefore(certificate), days_from * kDay);
  X509_gmtime_adj(X509_getm_notAfter(certificate), days_to * kDay);
  X509_set_pubkey(certificate, key);
  X509_NAME_add_entry_by_txt(X509_get_subject_name(certificate), "CN", MBSTRING_ASC,
                             reinterpret_cast<const unsigned char*>(name.c_str()), -1, -1, 0);
  return certificate;
}

}  // namespace

Certificates::Certificates() : key_(EVP_EC_gen("P-256")) {
  must(key_ != nullptr);
  static std::atomic<int> count = 0;
  const int number = count++;
  certificate_ = make_certificate(key_, "Girdle test authority " + std::to_string(number), -30, 30);
  X509_set_issuer_name(certificate_, X509_get_subject_name(certificate_));
  add_extension(certificate_, certificate_, NID_basic_constraints, "critical,CA:TRUE");
  add_extension(certificate_, certificate_, NID_key_usage, "critical,keyCertSign");
  must(X509_sign(certificate_, key_, EVP_sha256()) > 0);

  ca_file_ = testing::TempDir() + "girdle_ca_" + std::to_string(::getpid()) + "_" +
             std::to_string(number) + ".pem";
  std::FILE* const file = std::fopen(ca_file_.c_str(), "w");
  must(file != nullptr && PEM_write_X509(file, certificate_) == 1 && std::fclose(file) == 0);
}

Certificates::~Certificates() {
  for (const auto& file : files_) std::filesystem::remove(file);
  std::filesystem::remove(ca_file_);
  X509_free(certificate_);
  EVP_PKEY_free(key_);
}

std::shared_ptr<SSL_CTX> Certificates::server(const Server& server) const {
  EVP_PKEY* const key = EVP_EC_gen("P-256");
  X509* const certificate = make_certificate(key, "server", server.days_from, server.days_to);
  X509_set_issuer_name(certificate, X509_get_subject_name(certificate_));
  add_extension(certificate, certificate_, NID_subject_alt_name, server.names);
  must(X509_sign(certificate, key_, EVP_sha256()) > 0);

  std::shared_ptr<SSL_CTX> context(SSL_CTX_new(TLS_server_method()), SSL_CTX_free);
  must(SSL_CTX_use_certificate(context.get(), certificate) == 1 &&
       SSL_CTX_use_PrivateKey(context.get(), key) == 1);
  if (server.wants_client) {
    must(SSL_CTX_load_verify_file(context.get(), ca_file_.c_str()) == 1);
    SSL_CTX_set_verify(context.get(), SSL_VERIFY_PEER | SSL_VERIFY_FAIL_IF_NO_PEER_CERT, nullptr);
    static constexpr unsigned char kHere[] =
        "girdle";  // sessions with client certificates need one
    SSL_CTX_set_session_id_context(context.get(), kHere, sizeof kHere - 1);
  }
  if (server.max_version != 0) {
    SSL_CTX_set_security_level(context.get(), 0);  // versions before 1.2 are off otherwise
    SSL_CTX_set_min_proto_version(context.get(), TLS1_VERSION);
    SSL_CTX_set_max_proto_version(context.get(), server.max_version);
  }
  X509_free(certificate);
  EVP_PKEY_free(key);
  return context;
}

Certificates::Client Certificates::client(const std::string& name) const {
  EVP_PKEY* const key = EVP_EC_gen("P-256");
  X509* const certificate = make_certificate(key, name, -1, 1);
  X509_set_issuer_name(certificate, X509_get_subject_name(certificate_));
  must(X509_sign(certificate, key_, EVP_sha256()) > 0);
  const std::string stem = ca_file_.string() + "." + name + std::to_string(files_.size());
  const Client client{stem + ".pem", stem + ".key"};
  std::FILE* file = std::fopen(client.certificate_file.c_str(), "w");
  must(file != nullptr && PEM_write_X509(file, certificate) == 1 && std::fclose(file) == 0);
  file = std::fopen(client.key_file.c_str(), "w");
  must(file != nullptr && ::fchmod(::fileno(file), 0600) == 0);
  must(PEM_write_PrivateKey(file, key, nullptr, nullptr, 0, nullptr, nullptr) == 1);
  must(std::fclose(file) == 0);
  files_.push_back(client.certificate_file);
  files_.push_back(client.key_file);
  X509_free(certificate);
  EVP_PKEY_free(key);
  return client;
}

}  // namespace girdle::delivery
