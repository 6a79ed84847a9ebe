#include "api/certificate_files.h"

#include <gtest/gtest.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cstdio>
#include <cstdlib>

namespace girdle::api {
namespace {

void must(bool done) {
  if (!done) std::abort();
}

void add_names(X509* certificate, const std::string& names) {
  X509V3_CTX context;
  X509V3_set_ctx(&context, certificate, certificate, nullptr, nullptr, 0);
  X509_EXTENSION* const extension = X509V3_EXT_conf_nid(nullptr, &context, NID_subject_alt_name, names.c_str());
  must(extension != nullptr && X509_add_ext(certificate, extension, -1) == 1);
  X509_EXTENSION_free(extension);
}

X509* make_certificate(EVP_PKEY* key, const std::string& names) {
  X509* const certificate = X509_new();
  must(certificate != nullptr && X509_set_version(certificate, X509_VERSION_3) == 1);
  ASN1_INTEGER_set(X509_get_serialNumber(certificate), 1);
  X509_gmtime_adj(X509_getm_notBefore(certificate), -3'600);
  X509_gmtime_adj(X509_getm_notAfter(certificate), 3'600);
  X509_set_pubkey(certificate, key);
  X509_NAME_add_entry_by_txt(X509_get_subject_name(certificate), "CN", MBSTRING_ASC,
                             reinterpret_cast<const unsigned char*>("test"), -1, -1, 0);
  X509_set_issuer_name(certificate, X509_get_subject_name(certificate));
  add_names(certificate, names);
  must(X509_sign(certificate, key, EVP_sha256()) > 0);
  return certificate;
}

}  // namespace

CertificateFiles::CertificateFiles(const std::string& names) {
  static std::atomic<int> count = 0;
  const std::string stem =
      testing::TempDir() + "girdle_api_" + std::to_string(::getpid()) + "_" + std::to_string(count++);
  certificate_ = stem + ".pem";
  key_ = stem + ".key";
  EVP_PKEY* const key = EVP_EC_gen("P-256");
  X509* const certificate = make_certificate(key, names);
  std::FILE* file = std::fopen(certificate_.c_str(), "w");
  must(file != nullptr && PEM_write_X509(file, certificate) == 1 && std::fclose(file) == 0);
  file = std::fopen(key_.c_str(), "w");
  must(file != nullptr && ::fchmod(::fileno(file), 0600) == 0);
  must(PEM_write_PrivateKey(file, key, nullptr, nullptr, 0, nullptr, nullptr) == 1 && std::fclose(file) == 0);
  X509_free(certificate);
  EVP_PKEY_free(key);
}

CertificateFiles::~CertificateFiles() {
  std::filesystem::remove(certificate_);
  std::filesystem::remove(key_);
}

std::shared_ptr<SSL_CTX> tls_client(const CertificateFiles& server, int max_version, const std::string& protocols) {
  std::shared_ptr<SSL_CTX> context(SSL_CTX_new(TLS_client_method()), SSL_CTX_free);
  must(SSL_CTX_load_verify_file(context.get(), server.certificate().c_str()) == 1);
  SSL_CTX_set_verify(context.get(), SSL_VERIFY_PEER, nullptr);
  if (max_version != 0) {
    SSL_CTX_set_security_level(context.get(), 0);  // versions before 1.2 are off otherwise
    SSL_CTX_set_min_proto_version(context.get(), TLS1_VERSION);
    SSL_CTX_set_max_proto_version(context.get(), max_version);
  }
  const auto* const bytes = reinterpret_cast<const unsigned char*>(protocols.data());
  must(protocols.empty() ||
       SSL_CTX_set_alpn_protos(context.get(), bytes, static_cast<unsigned>(protocols.size())) == 0);
  return context;
}

}  // namespace girdle::api
