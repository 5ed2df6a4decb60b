// The stages of parsing, one after the other: see parse.hpp.
#include "syntax/parse.hpp"

#include "syntax/build.hpp"
#include "syntax/mistakes.hpp"
#include "syntax/read.hpp"
#include "syntax/scan.hpp"

namespace lw {

ast::File parse(const SourceSet& sources, FileId file, Findings& findings) {
  syntax::Mistakes mistakes(findings);
  syntax::Tokens tokens = syntax::scan(sources, file, mistakes);
  if (!tokens.readable) {
    ast::File nothing;
    nothing.id = file;
    nothing.whole = false;
    return nothing;
  }
  syntax::balance(tokens, mistakes);
  const std::vector<syntax::Node> nodes = syntax::read(tokens, mistakes);
  return syntax::Builder(tokens, nodes, mistakes).file();
}

}  // namespace lw
