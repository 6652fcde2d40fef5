import java.io.File;
import java.util.Map;
import java.util.TreeMap;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.PDFAParser;
import org.verapdf.pdfa.PDFAValidator;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;
import org.verapdf.pdfa.results.ValidationResult;

/**
 * Judges every PDF of a folder by its name: good-*.pdf must pass PDF/A-3a and PDF/UA-1,
 * bad-3a-*.pdf and bad-ua1-*.pdf must fail the standard they name. Ends with 1 if one does not.
 */
public final class JudgeArchive {
    private static final int MOST_FAILURES_TOLD = 20;

    public static void main(String[] arguments) throws Exception {
        VeraGreenfieldFoundryProvider.initialise();
        File[] files = new File(arguments[0]).listFiles((folder, name) -> name.endsWith(".pdf"));
        if (files == null || files.length == 0) {
            throw new IllegalArgumentException("no PDF in " + arguments[0]);
        }
        java.util.Arrays.sort(files);
        boolean asExpected = true;
        for (File file : files) {
            String[] parts = file.getName().split("-");
            if (parts[0].equals("good")) {
                asExpected &= judge(file, "3a", true);
                asExpected &= judge(file, "ua1", true);
            } else {
                asExpected &= judge(file, parts[1], false);
            }
        }
        System.exit(asExpected ? 0 : 1);
    }

    private static boolean judge(File file, String standard, boolean mustPass) throws Exception {
        PDFAFlavour flavour = PDFAFlavour.fromString(standard);
        ValidationResult result;
        try (PDFAParser parser = Foundries.defaultInstance().createParser(file, flavour);
             PDFAValidator validator =
                 Foundries.defaultInstance().createValidator(flavour, false)) {
            result = validator.validate(parser);
        }
        boolean passes = result.isCompliant();
        int rules = result.getValidationProfile().getRules().size();
        if (rules == 0 || result.getTotalAssertions() == 0) {
            throw new IllegalStateException("nothing was judged in " + file);
        }
        System.out.printf("%s %s: %s (%d rules, %d assertions)%s%n", file.getName(), standard,
            passes ? "passes" : "fails", rules, result.getTotalAssertions(),
            passes == mustPass ? "" : " - NOT AS EXPECTED");
        Map<String, String> failed = new TreeMap<>();
        for (TestAssertion one : result.getTestAssertions()) {
            if (one.getStatus() == TestAssertion.Status.FAILED
                    && failed.size() < MOST_FAILURES_TOLD) {
                String rule = one.getRuleId().getClause() + "-" + one.getRuleId().getTestNumber();
                failed.putIfAbsent(rule, one.getMessage());
            }
        }
        failed.forEach((rule, why) -> System.out.println("    " + rule + ": " + why));
        return passes == mustPass;
    }
}
