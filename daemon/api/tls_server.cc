#include "api/tls_server.h"

#include <openssl/err.h>
#include <openssl/pem.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>

#include <algorithm>
#include <boost/asio/ip/address.hpp>
#include <string_view>

#include "base/text.h"
#include "delivery/secret_file.h"

namespace girdle::api {
namespace {

constexpr size_t kLongestKey = 32 << 10;
constexpr std::string_view kHttp11 = "\x08http/1.1";

// Nobody is there to ask for a password.
int no_password(char*, int, int, void*) { return 0; }

struct Free {
  void operator()(BIO* bio) const { BIO_free(bio); }
  void operator()(EVP_PKEY* key) const { EVP_PKEY_free(key); }
  void operator()(GENERAL_NAMES* names) const { GENERAL_NAMES_free(names); }
};

std::unique_ptr<EVP_PKEY, Free> parse_key(std::string_view pem) {
  const std::unique_ptr<BIO, Free> bio(BIO_new_mem_buf(pem.data(), static_cast<int>(pem.size())));
  return std::unique_ptr<EVP_PKEY, Free>(PEM_read_bio_PrivateKey(bio.get(), nullptr, no_password, nullptr));
}

// RFC 7301 3.2: a client that names protocols and not ours is told so; one that names none speaks HTTP/1.1.
int choose_protocol(SSL*, const unsigned char** out, unsigned char* size, const unsigned char* offered,
                    unsigned offered_size, void*) {
  unsigned char* chosen = nullptr;
  const int found = SSL_select_next_proto(&chosen, size, reinterpret_cast<const unsigned char*>(kHttp11.data()),
                                          static_cast<unsigned>(kHttp11.size()), offered, offered_size);
  *out = chosen;
  return found == OPENSSL_NPN_NEGOTIATED ? SSL_TLSEXT_ERR_OK : SSL_TLSEXT_ERR_ALERT_FATAL;
}

std::string_view bytes_of(const ASN1_STRING* text) {
  return {reinterpret_cast<const char*>(ASN1_STRING_get0_data(text)), static_cast<size_t>(ASN1_STRING_length(text))};
}

std::string address_text(std::string_view bytes) {
  namespace ip = boost::asio::ip;
  if (bytes.size() == 4) {
    ip::address_v4::bytes_type raw;
    std::ranges::copy(bytes, raw.begin());
    return ip::address_v4(raw).to_string();
  }
  if (bytes.size() != 16) return {};
  ip::address_v6::bytes_type raw;
  std::ranges::copy(bytes, raw.begin());
  return '[' + ip::address_v6(raw).to_string() + ']';
}

std::string name_text(const GENERAL_NAME* name) {
  if (name->type == GEN_IPADD) return address_text(bytes_of(name->d.iPAddress));
  if (name->type != GEN_DNS) return {};
  std::string text(bytes_of(name->d.dNSName));
  std::ranges::transform(text, text.begin(), base::lower);
  return std::ranges::all_of(text, base::is_visible) ? text : std::string();
}

}  // namespace

TlsServer::TlsServer() : context_(boost::asio::ssl::context::tls_server) {
  SSL_CTX* const tls = context_.native_handle();
  SSL_CTX_set_min_proto_version(tls, TLS1_2_VERSION);
  // Of 1.2 only what has forward secrecy and authenticated encryption (RFC 9325 4.2); those of 1.3 all have.
  SSL_CTX_set_cipher_list(tls, "ECDHE+AESGCM:ECDHE+CHACHA20");
  SSL_CTX_set_options(tls, SSL_OP_NO_RENEGOTIATION | SSL_OP_NO_COMPRESSION | SSL_OP_CIPHER_SERVER_PREFERENCE);
  SSL_CTX_set_mode(tls, SSL_MODE_RELEASE_BUFFERS);
  SSL_CTX_set_session_cache_mode(tls, SSL_SESS_CACHE_OFF);  // tickets need no memory of ours
  SSL_CTX_set_alpn_select_cb(tls, choose_protocol, nullptr);
}

base::Result<std::unique_ptr<TlsServer>> TlsServer::create(const std::filesystem::path& certificate_file,
                                                           const std::filesystem::path& key_file) {
  std::unique_ptr<TlsServer> server(new TlsServer());
  if (auto loaded = server->load(certificate_file, key_file); !loaded) return std::move(loaded.error());
  server->read_names();
  ERR_clear_error();  // a later operation would take what is left there for its own
  return server;
}

base::Result<void> TlsServer::load(const std::filesystem::path& certificate_file,
                                   const std::filesystem::path& key_file) {
  boost::system::error_code error;
  context_.use_certificate_chain_file(certificate_file.string(), error);
  if (error) {
    return base::input_error(certificate_file.string() +
                             ": holds no certificate in PEM form that can be read: " + error.message());
  }
  config::SecretFile secret;
  secret.path = key_file;
  const auto pem = delivery::read_secret_file(secret, kLongestKey);
  if (!pem) return pem.error();
  const auto key = parse_key(pem->view());
  if (!key) {
    return base::input_error(key_file.string() + ": holds no private key in PEM form that is free of a password");
  }
  SSL_CTX* const tls = context_.native_handle();
  if (SSL_CTX_use_PrivateKey(tls, key.get()) != 1 || SSL_CTX_check_private_key(tls) != 1) {
    return base::input_error(key_file.string() + ": is the key of another certificate than " +
                             certificate_file.string());
  }
  return {};
}

void TlsServer::read_names() {
  X509* const certificate = SSL_CTX_get0_certificate(context_.native_handle());
  const std::unique_ptr<GENERAL_NAMES, Free> names(
      static_cast<GENERAL_NAMES*>(X509_get_ext_d2i(certificate, NID_subject_alt_name, nullptr, nullptr)));
  for (int i = 0; names && i < sk_GENERAL_NAME_num(names.get()); ++i) {
    std::string text = name_text(sk_GENERAL_NAME_value(names.get(), i));
    if (!text.empty()) names_.push_back(std::move(text));
  }
}

}  // namespace girdle::api
