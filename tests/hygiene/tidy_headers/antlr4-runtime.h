// Stands before the runtime's own antlr4-runtime.h when clang-tidy 14 reads our sources: the parts
// of the runtime that grammar/frontend and the generated parser use.  The runtime's own takes in
// misc/InterpreterDataReader.h, which we do not use and clang 14 cannot read: it does not know
// C++20's constrained constructors (P0848), so it finds a constant std::vector without a value.
#pragma once

#include "ANTLRInputStream.h"
#include "BaseErrorListener.h"
#include "CommonToken.h"
#include "CommonTokenStream.h"
#include "DefaultErrorStrategy.h"
#include "FailedPredicateException.h"
#include "InputMismatchException.h"
#include "Lexer.h"
#include "LexerNoViableAltException.h"
#include "ListTokenSource.h"
#include "NoViableAltException.h"
#include "Parser.h"
#include "ParserRuleContext.h"
#include "RecognitionException.h"
#include "Vocabulary.h"
#include "atn/ATN.h"
#include "atn/ATNDeserializer.h"
#include "atn/LexerATNSimulator.h"
#include "atn/ParserATNSimulator.h"
#include "dfa/DFA.h"
#include "tree/AbstractParseTreeVisitor.h"
#include "tree/ErrorNode.h"
#include "tree/ParseTreeVisitor.h"
#include "tree/TerminalNode.h"
