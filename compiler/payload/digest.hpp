// SHA-256 (FIPS 180-4) by libsodium, as the 64 small hexadecimal digits that manifests hold.
// Tests: tests/unit/payload/digest_test.cpp, against the vectors of the standard.
#pragma once

#include <sodium/crypto_hash_sha256.h>

#include <string>
#include <string_view>

namespace lw::payload {

class Sha256 {
 public:
  Sha256();
  void add(std::string_view bytes);
  /// Ends the digest; nothing may be added afterwards.
  std::string hex();

 private:
  crypto_hash_sha256_state state_{};
};

std::string sha256_hex(std::string_view bytes);

}  // namespace lw::payload
