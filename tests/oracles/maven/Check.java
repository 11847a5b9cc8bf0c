// Holds PDF files against PDF/A-3 and PDF/UA-1: java -cp 'lib/*' Check.java FLAVOURS FILE...
// FLAVOURS: 3a,3b,ua1. One line for each file and flavour: file, flavour, true or false, broken clauses, by tabs.

import java.io.FileInputStream;
import java.io.InputStream;
import java.util.TreeSet;
import java.util.logging.Level;
import java.util.logging.Logger;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.PDFAParser;
import org.verapdf.pdfa.PDFAValidator;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;
import org.verapdf.pdfa.results.ValidationResult;

public class Check {
    public static void main(String[] words) throws Exception {
        Logger.getLogger("").setLevel(Level.OFF);
        VeraGreenfieldFoundryProvider.initialise();
        for (int i = 1; i < words.length; i++) {
            for (String flavour : words[0].split(",")) {
                System.out.println(words[i] + "\t" + flavour + "\t" + verdict(words[i], flavour));
            }
        }
    }

    static String verdict(String file, String name) {
        PDFAFlavour flavour = PDFAFlavour.byFlavourId(name);
        try (InputStream stream = new FileInputStream(file);
                PDFAParser parser = Foundries.defaultInstance().createParser(stream, flavour)) {
            PDFAValidator validator = Foundries.defaultInstance().createValidator(flavour, false);
            ValidationResult result = validator.validate(parser);
            TreeSet<String> broken = new TreeSet<>();
            for (TestAssertion found : result.getTestAssertions()) {
                if (found.getStatus() == TestAssertion.Status.FAILED) {
                    broken.add(found.getRuleId().getClause() + "-" + found.getRuleId().getTestNumber() + " " + found.getMessage());
                }
            }
            return result.isCompliant() + "\t" + String.join("; ", broken).replaceAll("\\s+", " ");
        } catch (Exception error) {
            return "false\tcannot be read: " + error.getClass().getSimpleName();
        }
    }
}
