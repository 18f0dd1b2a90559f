# ANTLR before 4.10 unpacks the tables of a parser before main() begins, in each program that has one: here, when text is
# parsed for the first time, since with compiled rules none is.  Rewrites RuleLexer and RuleParser in FOLDER; finds nothing
# to do in what a later ANTLR writes.
foreach(name RuleLexer RuleParser)
  file(READ ${FOLDER}/${name}.h header)
  string(REPLACE "static Initializer _init;"
         "public: static void initialise() { static const Initializer once; (void)once; } private:" header "${header}")
  file(WRITE ${FOLDER}/${name}.h "${header}")
  file(READ ${FOLDER}/${name}.cpp source)
  string(REPLACE "${name}::Initializer ${name}::_init;" "" source "${source}")
  file(WRITE ${FOLDER}/${name}.cpp "${source}")
endforeach()
