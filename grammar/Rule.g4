// The language of *.rule files.
//
// Input:   bytes (frontend/parse.cpp hands the lexer one symbol a byte, so that places are bytes).
// Words:   the lexer knows names only.  Which names are words of the language depends on where they
//          stand (a field may be called `last`, a column `early`); frontend/words.def lists them,
//          several of two or more words (`look up`, `or else`), and frontend/words.cpp says where
//          each counts.  The tokens {} below are those words; `say "... {x} ..."` arrives taken
//          apart into TEXT_BEGIN TEXT INSERT_BEGIN ... INSERT_END TEXT_END.
// Shape:   LL(1) throughout: the generated parser never looks further than one token, so there is
//          no ambiguity and no prediction to warm up.  tests/grammar/frontend proves it.
// Names:   `rule` and `file` are names of the generated code and cannot be rules here.
grammar Rule;

tokens {
  // beginnings of items, only at the start of a line
  SETTING, TABLE, DEFINE, RULE, TRIAL_RULE, EXAMPLE, ADJUST, REGRADE, MUTE, RETIRE, EXTEND_TABLE,
  // parts of a rule or an example
  CONCERNS, LET, RAISE, WITHOUT, CITE, OWNER, REVIEWED, REVIEW_BY, SAY, ASK, BLAMES, IGNORE,
  ORDER, EARLIER, EXPECT,
  // links
  FROM, UNTIL, BECAUSE, BY, TO, UNSET, BETWEEN, WHEN, WHERE, IF, THEN, OTHERWISE,
  ALL_ORDERS, ORDERS_WHERE,
  // operators in words
  OR, AND, NOT, OR_ELSE, IS, IN, BEFORE, AFTER, ONE_OF, MULTIPLE_OF, GIVEN, MISSING, NONE, YES, NO,
  DIFFERS_FROM, BY_MORE_THAN, THINNER_THAN, WIDER_THAN, CONTAINS, MATCHES, INCLUDES, LATER,
  ROUNDED, UP, DOWN, AS_WRITTEN,
  // operands in words
  TODAY, PLANNED_DAY, ENGINE_VALUE, DAYS_SINCE, DAYS_FROM, TIME_SINCE, TIME_FROM, KIND_OF, REGION_OF, ANY_OF,
  // queries
  LOOK_UP, LOOK_UP_EVERY, ANY_ROW_OF, ANY_PART_OF, LATEST, EARLIEST, NUMBER_OF, TOTAL, MEDIAN,
  WEEKLY_DOSE_OF, OF, LAST, LIST, WITHIN, EARLIER_INJECTIONS, EARLIER_ORDERS, ACTIVE_ORDERS,
  // after a number: its unit, and the slash of `100 mg/5 mL`
  UNIT, PER,
  // a text with insertions
  TEXT_BEGIN, TEXT, INSERT_BEGIN, INSERT_END, TEXT_END
}

ruleFile : item* EOF ;

item
  : setting | table | define | ruleDecl | example | adjust | regrade | mute | retire | extendTable ;

// ------------------------------------------------------------------ settings, tables, definitions

setting : SETTING NAME (EQ literal | UNSET) range? force STRING? ;
range   : BETWEEN literal AND literal ;
table   : TABLE NAME FROM STRING force ;
define  : DEFINE NAME EQ value ;
force   : (FROM DATE)? (UNTIL DATE)? ;

literal  : MINUS? quantity | DATE | STRING | NAME ;
quantity : number (UNIT (PER number UNIT)?)? ;
number   : NUMBER | FRACTION | MIXED ;

// ------------------------------------------------------------------ rules

ruleDecl : (RULE | TRIAL_RULE) NAME force STRING? ruleLine* ;
ruleLine : concerns | letLine | clause | without | cite | owner | reviewed | reviewBy ;

concerns : CONCERNS (ALL_ORDERS | ORDERS_WHERE expr) ;
letLine  : LET NAME EQ value ;
clause   : RAISE NAME WHEN expr part* ;
part     : SAY text | ASK text | BLAMES paths ;
without  : WITHOUT paths (IGNORE | RAISE NAME saying*) ;
saying   : SAY text | ASK text ;
cite     : CITE STRING ;
owner    : OWNER STRING ;
reviewed : REVIEWED DATE ;
reviewBy : REVIEW_BY DATE ;

paths : path (COMMA path)* ;
path  : NAME | PATH ;
text  : TEXT_BEGIN (TEXT | insertion)* TEXT_END ;
insertion : INSERT_BEGIN value INSERT_END ;

// ------------------------------------------------------------------ examples and local changes

example     : EXAMPLE STRING exampleLine* ;
exampleLine : ORDER given (COMMA given)* | EARLIER given (COMMA given)* | EXPECT hope (COMMA hope)* ;
given       : path EQ literal ;
hope        : NAME (FROM NAME)? ;

adjust      : ADJUST NAME EQ literal reason ;
regrade     : REGRADE NAME FROM NAME TO NAME reason ;
mute        : MUTE NAME (WHERE expr)? reason ;
retire      : RETIRE NAME reason ;
extendTable : EXTEND_TABLE NAME FROM STRING reason ;
reason      : (BECAUSE STRING)? (BY STRING)? (UNTIL DATE)? ;

// ------------------------------------------------------------------ expressions, loosest first

value : query | expr ;
expr  : IF either THEN expr OTHERWISE expr | either ;

// Chains are flat, for a tree of few levels; which operator binds tighter stands in
// frontend/build_expr.cpp.
either     : NOT* comparison ((AND | OR) NOT* comparison)* ;
comparison : terms (compareTo | isTail | betweenTail | differsTail | MATCHES STRING)? ;

compareTo
  : (LESS | LESS_EQUAL | GREATER | GREATER_EQUAL | THINNER_THAN | WIDER_THAN | CONTAINS | INCLUDES)
    terms ;
betweenTail : BETWEEN terms AND terms ;
differsTail : DIFFERS_FROM terms BY_MORE_THAN terms ;
isTail
  : IS NOT?
    ( GIVEN | MISSING | NONE | YES | NO
    | ONE_OF terms (COMMA terms)*
    | (IN | BEFORE | AFTER | MULTIPLE_OF) terms
    | compareTo | betweenTail
    | terms
    ) ;

terms
  : MINUS* primary
    ((OR_ELSE | LATER | ROUNDED (UP | DOWN)? TO | PLUS | MINUS | STAR | SLASH) MINUS* primary)* ;

primary
  : quantity
  | STRING
  | place
  | DAYS_SINCE place
  | DAYS_FROM place TO place
  | TIME_SINCE place
  | TIME_FROM place TO place
  | KIND_OF place
  | REGION_OF place
  | ANY_OF path ;
place : path AS_WRITTEN? | DATE | TODAY | PLANNED_DAY | ENGINE_VALUE | LPAREN value RPAREN ;

// ------------------------------------------------------------------ queries: after `let NAME =`, or
// in brackets; their `where` reaches to the end of the let or to the closing bracket

query
  : LOOK_UP NAME IN NAME where (OTHERWISE expr)?
  | LOOK_UP_EVERY NAME IN NAME where
  | ANY_ROW_OF NAME where
  | ANY_PART_OF path where
  | (LATEST | EARLIEST | NUMBER_OF) last? source
  | (TOTAL | MEDIAN) path OF (last? source | LIST path)
  | WEEKLY_DOSE_OF source ;
where  : WHERE either ;
last   : LAST NUMBER ;
source : (EARLIER_INJECTIONS | EARLIER_ORDERS | ACTIVE_ORDERS) (WITHIN quantity)? where? ;

// ------------------------------------------------------------------ characters

NAME : WORD ;
PATH : WORD ('.' WORD)+ ;
DATE : D D D D '-' D D '-' D D ;
NUMBER   : DIGITS ('.' DIGITS)? ;
FRACTION : DIGITS '/' DIGITS ;
MIXED    : DIGITS ' '+ DIGITS '/' DIGITS ;
STRING   : '"' IN_STRING* '"' ;

EQ : '=' ;
LESS : '<' ;
LESS_EQUAL : '<=' ;
GREATER : '>' ;
GREATER_EQUAL : '>=' ;
PLUS : '+' ;
MINUS : '-' ;
STAR : '*' ;
SLASH : '/' ;
PERCENT : '%' ;
LPAREN : '(' ;
RPAREN : ')' ;
COMMA : ',' ;

BLANK   : [ \r\n]+ -> skip ;
COMMENT : '#' ~[\n]* -> skip ;

// What people write and the language does not: each is reported with what to write.
TAB            : '\t'+ ;
UNCLOSED       : '"' IN_STRING* ;
CURLY_STRING   : CURLY ~["\r\n]*? CURLY ;
TICKED_STRING  : '\'' ~['"\r\n]* '\'' ;
COMMA_NUMBER   : DIGITS (',' DIGITS)+ ('.' DIGITS)? ;
POINT_NUMBER   : '.' DIGITS | DIGITS '.' ;
OTHER_DATE     : DIGITS ('/' DIGITS '/' | '.' DIGITS '.' | '-' DIGITS '-') DIGITS ;
GLUED_UNIT     : DIGITS (('.' | '/') DIGITS)? ([A-Za-z%] [A-Za-z%0-9/]*) ;
GLUED_MINUS    : WORD ('.' WORD)* '-' DIGITS '.' DIGITS ;
FOREIGN_SIGN   : '==' '='? | '!=' '='? | '<>' | '=>' | '=<' | '&&' | '||' | ':=' | '**' ;
FOREIGN_LETTER : [\u0080-\u00FF]+ ;
OTHER          : . ;

fragment D : [0-9] ;
fragment DIGITS : D+ ;
fragment WORD : [A-Za-z] [A-Za-z0-9_]* ('-' [A-Za-z0-9_]+)* ;
fragment IN_STRING : '\\' ~[\r\n] | ~["\\\r\n] ;
fragment CURLY : '\u00E2\u0080' [\u009C\u009D\u009E] ;
